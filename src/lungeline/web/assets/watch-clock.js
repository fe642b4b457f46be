// The clock and its phases, the time off the circle, what is due, what is to be set back, and what threatens life.
import { word } from "./given.js";
import { make, put } from "./make.js";
import { textOf } from "./measures.js";
import { clockText } from "./moments.js";
import { nowMs, setNow } from "./now.js";
import { remind } from "./sound.js";
import { askYes } from "./watch-forms.js";
import { note } from "./watch-notes.js";

const $ = (id) => document.getElementById(id);
const ORDER = ["prepare", "induce", "maintain", "wean", "recover", "closed"];
const UNDER = ["induce", "maintain", "wean"];
const MOST_DUE = 4;
const SOON_MIN = 120; // a cylinder that lasts for longer is not due
let told = null;
let loadedAt = 0;
let noticed = { threats: [], priority: "" }; // what watching quietly adds

const write = (element, text) => element.textContent !== text && (element.textContent = text);

/** Show a case as it was just told. */
export function showClock(now) {
  told = now;
  loadedAt = Date.now();
  setNow(new Date(now.now).getTime());
  showPhases();
  showBack();
  showThreats();
  sound();
  tick();
}

/** Take what was noticed beside: threats against earlier rows, and the priority of what nobody has looked at yet. */
export function alsoNoticed(now) {
  noticed = now;
  if (!told) return;
  showThreats();
  sound();
}

const threats = () => [...told.threats, ...noticed.threats.filter((it) => !told.threats.some(({ code }) => code === it.code))];
const sound = () => remind(threats().length ? "high" : told.set_back.length ? "medium" : noticed.priority);

export function tick() {
  if (!told) return;
  const more = UNDER.includes(told.phase) ? (Date.now() - loadedAt) / 60000 : 0;
  const under = told.anaesthesia_minutes === null ? null : told.anaesthesia_minutes + more;
  write($("time"), under === null ? "–" : `${clockText(under)} h`);
  const off = told.off_since ? (nowMs() - new Date(told.off_since)) / 1000 : null;
  write($("off"), off === null ? word("watch.off_circle") : `${word("watch.on_circle")} · ${clockText(Math.max(off, 0))}`);
  $("off").dataset.off = String(off !== null);
  const left = told.due.map((it) => [it.what, Math.round((new Date(it.at) - nowMs()) / 60000)]).filter(([, minutes]) => minutes < SOON_MIN).slice(0, MOST_DUE);
  put($("due"), left, () => left.map(([what, minutes]) => make("span", { className: minutes < 0 ? "late" : "" },
    `${word(`watch.due_${what}`)}: ${minutes < 0 ? `${-minutes} min ${word("watch.overdue")}` : `${minutes} min`}`)));
}

$("off").onclick = () => {
  const on = Boolean(told?.off_since);
  note("event", { what: on ? "on the circle again" : "off the circle" }, word(on ? "watch.on_circle" : "watch.off_circle"));
  if (told) told.off_since = on ? null : new Date(nowMs()).toISOString(); // at once, also without a connection
  tick();
};

function showPhases() {
  write($("phase"), word(`cases.phase_${told.phase || "none"}`));
  const next = ORDER.filter((phase) => told.next_phases.includes(phase));
  put($("phases"), next, () => next.map((phase) => {
    const name = word(`cases.phase_${phase}`);
    const button = make("button", { type: "button", className: "theatre", textContent: `→ ${name}` });
    button.onclick = async () => (await askYes(`→ ${name}?`)) && note("phase", { phase }, name);
    return button;
  }));
}

function showBack() {
  put($("back"), told.set_back, () => told.set_back.map((it) => {
    const name = word(`watch.set_${it.key}`);
    const because = it.because === "raised" ? "" : `${word(`watch.because_${it.because.replace(" ", "_")}`)}: `;
    const [now, then] = [it.now, it.back_to].map((value) => textOf(it.key, value));
    const back = make("button", { type: "button", className: "theatre main", textContent: `${word("watch.is_back")} ${then}` });
    back.onclick = () => note("setting", { [it.key]: it.back_to }, `${name} ${then}`);
    const buttons = [back];
    if (it.now !== null) {
      const stays = make("button", { type: "button", className: "theatre", textContent: `${word("watch.stays")} ${now}` });
      stays.onclick = () => note("setting", { [it.key]: it.now, reason: word("watch.stays") }, `${name} ${now}`);
      buttons.push(stays);
    }
    return make("p", { className: "set-back" }, make("span", { textContent: `▲▲ ${because}${word("watch.back_to")} ${name}: ${it.now === null ? "" : `${now} `}→ ${then}` }), ...buttons);
  }));
}

function showThreats() {
  put($("threats"), threats(), () => threats().map((it) => make("div", { className: "threat" }, make("strong", { textContent: `▲▲▲ ${it.says}` }), it.do)));
}
