// The running case: what is told about it, shown; what is done to it, entered. Works on without a connection.
import { ask } from "./ask.js";
import { askForm } from "./forms.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { enter, momentText, strike, takeBack } from "./queue.js";
import { notice } from "./say.js";
import { follow } from "./socket.js";
import { sound, wireSound } from "./sound.js";
import { stepper } from "./stepper.js";
import { drawLanes } from "./watch-lanes.js";
import { wireSettings } from "./watch-settings.js";

const caseId = document.body.dataset.case;
const $ = (id) => document.getElementById(id);
const dialog = $("form");
const ROW = [
  ["heart_rate_per_min", 1], ["systolic_pressure_mmhg", 5], ["map_mmhg", 1], ["diastolic_pressure_mmhg", 5],
  ["respiratory_rate_per_min", 1], ["spo2_fraction", 0.01], ["etco2_mmhg", 1], ["fio2_fraction", 0.01],
  ["end_tidal_agent_fraction", 0.001], ["tidal_volume_expired_l", 0.1], ["peak_pressure_cmh2o", 1],
  ["spare_volume_l", 0.5], ["temperature_c", 0.1],
];
const STARTS = { heart_rate_per_min: 40, systolic_pressure_mmhg: 90, map_mmhg: 70, diastolic_pressure_mmhg: 60, respiratory_rate_per_min: 8,
  spo2_fraction: 0.97, etco2_mmhg: 40, fio2_fraction: 0.9, end_tidal_agent_fraction: 0.013, tidal_volume_expired_l: 5, peak_pressure_cmh2o: 20, spare_volume_l: 4, temperature_c: 37 };
const REMIND_MS = 30000;
let kinds = null;
let told = null;
let expected = null;
let expectedFor = "";
let lastSeq = 0;

const make = (tag, attributes = {}, ...inside) => {
  const element = Object.assign(document.createElement(tag), attributes);
  element.append(...inside);
  return element;
};

// --- entering -----------------------------------------------------------------------------------------------

const eventTime = () => {
  const ago = Number(document.querySelector("input[name=ago]:checked").value);
  return ago ? momentText(new Date(Date.now() - ago * 60000)) : undefined;
};

/** Enter something, with ten seconds to take it back: a strike-out, or nothing at all where it was not sent yet. */
export async function note(kind, body, text) {
  let entry = null;
  const uid = await enter(caseId, kind, body, { eventTime: eventTime(), onSaved: (answer) => (entry = answer) });
  document.querySelector("input[name=ago][value='0']").checked = true;
  notice(text, {
    undo: async () => {
      if (await takeBack(uid)) return;
      if (entry) strike(caseId, entry.seq, word("watch.undone"));
    },
  });
}

// --- the row of readings -------------------------------------------------------------------------------------

const row = new Map(ROW.map(([key, step]) => {
  const it = stepper({ name: key, label: word(`watch.lane_${key}`), step, low: 0, high: 1000, changed: () => touched.add(key) && (it.element.dataset.old = "false") });
  return [key, it];
}));
const touched = new Set();
row.forEach((it) => $("row-fields").append(it.element));

function fillRow() {
  row.forEach((it, key) => {
    if (touched.has(key)) return;
    const last = told?.latest[key]?.value;
    it.set(last ?? STARTS[key], { quiet: true });
    it.element.dataset.old = "true";
  });
}

$("row-save").onclick = () => {
  const body = Object.fromEntries([...touched].map((key) => [key, row.get(key).value]).filter(([, value]) => value !== null));
  if (!Object.keys(body).length) {
    notice(word("watch.touch_first"));
    return;
  }
  for (const name of ["estimated", "artefact"]) {
    if ($(name).checked) body[name] = true;
    $(name).checked = false;
  }
  touched.clear();
  note("reading", body, `${word("watch.row")}: ${Object.entries(body).filter(([, value]) => value !== true).map(([key, value]) => textOf(key, value)).join(", ")}`);
  row.forEach((it) => (it.element.dataset.old = "true"));
};

// --- tabs, events, forms --------------------------------------------------------------------------------------

const tabs = [...document.querySelectorAll("[role=tab]")];
function open(name) {
  tabs.forEach((tab) => {
    tab.setAttribute("aria-selected", String(tab.dataset.tab === name));
    tab.tabIndex = tab.dataset.tab === name ? 0 : -1;
  });
  document.querySelectorAll("[data-panel]").forEach((panel) => (panel.hidden = panel.dataset.panel !== name));
}
tabs.forEach((tab, place) => {
  tab.onclick = () => open(tab.dataset.tab);
  tab.onkeydown = (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!step) return;
    const next = tabs[(place + step + tabs.length) % tabs.length];
    open(next.dataset.tab);
    next.focus();
  };
});
open("row");

document.querySelectorAll("[data-event]").forEach((button) => {
  button.onclick = () => note("event", { what: button.dataset.event }, button.textContent);
});

document.querySelectorAll("[data-kind]").forEach((button) => {
  button.onclick = async () => {
    if (!kinds) return notice(word("frame.needs_connection"), { kind: "problem" });
    const kind = button.dataset.kind;
    const body = await askForm(dialog, button.textContent, kinds[kind].fields);
    if (body) note(kind, body, button.textContent);
    return undefined;
  };
});

function showPlanned() {
  const doses = (told.planned ?? []).filter((dose) => dose.total_mg);
  $("planned").replaceChildren(...doses.map((dose) => {
    const volume = dose.volume_ml ? ` · ${textOf("volume_ml", dose.volume_ml)}` : "";
    const button = make("button", { type: "button", className: "theatre", textContent: `${dose.drug} ${textOf("total_mg", dose.total_mg)}${volume}` });
    button.onclick = () => giveDose(dose);
    return button;
  }));
  $("running").replaceChildren(...told.running.map((it) => {
    const stop = make("button", { type: "button", className: "theatre", textContent: `${word("watch.stop")} ${it.drug}` });
    stop.onclick = () => note("infusion", { drug: it.drug, action: "stop" }, `${it.drug}: ${word("watch.stop")}`);
    return stop;
  }));
}

async function giveDose(dose) {
  const sure = Boolean(dose.volume_ml); // a volume is told only at a strength that was confirmed
  const fields = [
    { key: "amount_mg", label: word("watch.amount"), kind: "number", unit: "mg", low: 0, high: 1e6, required: true },
    ...(sure ? [] : [{ key: "confirmed", label: word("watch.confirm_strength"), kind: "switch", required: true }]),
  ];
  const body = await askForm(dialog, `${dose.drug}${dose.route ? `, ${dose.route}` : ""}`, fields, { amount_mg: dose.total_mg }, { button: word("watch.given") });
  if (!body) return;
  const entered = { drug: dose.drug, amount_mg: body.amount_mg, ...(dose.use ? { use: dose.use } : {}), ...(dose.route ? { route: dose.route } : {}) };
  if (dose.volume_ml && body.amount_mg === dose.total_mg) entered.volume_ml = dose.volume_ml;
  note("drug", entered, `${dose.drug} ${textOf("amount_mg", body.amount_mg)}`);
}

document.querySelectorAll("[data-manoeuvre]").forEach((button) => {
  button.onclick = async () => {
    const deep = button.dataset.manoeuvre === "deep breath";
    const usual = told?.settings.tidal_volume_l ?? 6;
    const fields = deep
      ? [{ key: "volume_l", label: word("watch.lane_tidal_volume_expired_l"), kind: "number", low: 0.05, high: 60, required: true }]
      : [{ key: "pressure_cmh2o", label: word("watch.lane_peak_pressure_cmh2o"), kind: "number", low: 5, high: 100, required: true }];
    const spare = told?.latest.spare_volume_l?.value ?? told?.settings.spare_volume_l;
    const pressure = told?.latest.map_mmhg?.value;
    const guards = [
      pressure === undefined ? word("watch.guard_no_pressure") : pressure < 60 ? `${word("watch.guard_pressure")} ${textOf("map_mmhg", pressure)}` : "",
      spare === undefined ? word("watch.guard_no_spare") : deep && spare < usual ? `${word("watch.guard_spare")} ${textOf("spare_volume_l", spare)}` : "",
    ].filter(Boolean);
    const title = [button.textContent, ...guards].join(" · ▲ ");
    const body = await askForm(dialog, title, fields, deep ? { volume_l: usual * 1.5 } : { pressure_cmh2o: 40 }, { button: word("watch.done") });
    if (!body) return;
    const detail = Object.entries(body).map(([key, value]) => textOf(key, value)).join(", ");
    note("event", { what: button.dataset.manoeuvre, detail }, `${button.textContent}: ${detail}`);
  };
});

// --- clock, phases, what is due -------------------------------------------------------------------------------

let offSince = null;
$("off").onclick = () => {
  const on = offSince !== null;
  note("event", { what: on ? "on the circle again" : "off the circle" }, on ? word("watch.on_circle") : word("watch.off_circle"));
  offSince = on ? null : Date.now();
  tick();
};

function tick() {
  if (!told) return;
  const minutes = (Date.now() - clockAt) / 60000;
  const under = told.anaesthesia_minutes === null ? null : told.anaesthesia_minutes + (["induce", "maintain", "wean"].includes(told.phase) ? minutes : 0);
  const text = under === null ? "–" : `${Math.floor(under / 60)}:${String(Math.floor(under % 60)).padStart(2, "0")} h`;
  if ($("time").textContent !== text) $("time").textContent = text;
  const off = offSince === null ? word("watch.off_circle") : `${word("watch.on_circle")} · ${Math.floor((Date.now() - offSince) / 60000)}:${String(Math.floor(((Date.now() - offSince) / 1000) % 60)).padStart(2, "0")}`;
  if ($("off").textContent !== off) $("off").textContent = off;
  const due = told.due.map((it) => [it, Math.round((new Date(it.at) - Date.now()) / 60000)]).slice(0, 2);
  const parts = due.map(([it, left]) => make("span", { className: left < 0 ? "late" : "", textContent: `${word(`watch.due_${it.what}`)}: ${left < 0 ? `${-left} min ${word("watch.overdue")}` : `${left} min`}` }));
  const joined = parts.map((part) => part.textContent).join(" ");
  if ($("due").textContent !== joined) $("due").replaceChildren(...parts);
}
let clockAt = Date.now();
setInterval(tick, 1000);

function showPhases() {
  $("phase").textContent = word(`cases.phase_${told.phase || "none"}`);
  const buttons = told.next_phases.map((phase) => {
    const button = make("button", { type: "button", className: "theatre", textContent: `→ ${word(`cases.phase_${phase}`)}` });
    button.onclick = async () => {
      const sure = await askForm(dialog, `→ ${word(`cases.phase_${phase}`)}?`, [], {}, { button: word("frame.yes") });
      if (sure) note("phase", { phase }, word(`cases.phase_${phase}`));
    };
    return button;
  });
  $("phases").replaceChildren(...buttons);
}

let reminded = "";
function showBack() {
  const rows = told.set_back.map((it) => {
    const button = make("button", { type: "button", className: "theatre main", textContent: `${word("watch.is_back")} ${textOf(it.key, it.back_to)}` });
    button.onclick = () => note("setting", { [it.key]: it.back_to }, `${word(`watch.set_${it.key}`)} ${textOf(it.key, it.back_to)}`);
    return make("p", { className: "set-back" }, make("span", { textContent: `▲▲ ${word("watch.back_to")} ${word(`watch.set_${it.key}`)}: ${textOf(it.key, it.now)} → ${textOf(it.key, it.back_to)}` }), button);
  });
  $("back").replaceChildren(...rows);
  reminded = told.set_back.length ? "medium" : "";
}
function showThreats() {
  $("threats").replaceChildren(...told.threats.map((it) => make("div", { className: "threat" }, make("strong", { textContent: `▲▲▲ ${it.says}` }), it.do)));
  if (told.threats.length) reminded = "high";
}
setInterval(() => reminded && sound(reminded), REMIND_MS);

// --- why ------------------------------------------------------------------------------------------------------

$("causes").onclick = async () => {
  const box = $("why-box");
  box.replaceChildren(make("progress", { className: "working" }));
  try {
    const { explanation } = await ask(`/api/cases/${caseId}/causes`, { method: "POST", body: {} });
    const causes = (explanation.causes ?? []).slice(0, 4);
    const rows = causes.map((it) => make("p", {}, make("strong", { textContent: `${it.says ?? it.code} ` }), `(${it.word ?? ""}) ${it.do ?? ""}`));
    const test = explanation.tests?.[0];
    if (test) rows.push(make("p", { className: "finding", textContent: `${word("watch.next_test")}: ${test.do ?? test.says ?? test.test}` }));
    box.replaceChildren(...(rows.length ? rows : [make("p", { textContent: word("watch.no_causes") })]));
  } catch (error) {
    box.replaceChildren(make("p", { className: "problem", textContent: error.message }));
  }
};

// --- keeping up -------------------------------------------------------------------------------------------------

async function load() {
  try {
    if (!kinds) kinds = (await ask("/api/cases/kinds")).kinds;
    const fresh = await ask(`/api/cases/${caseId}/watch`);
    told = fresh;
    clockAt = Date.now();
    lastSeq = told.last_seq;
  } catch (error) {
    if (!told) $("lanes-wait").textContent = `${word("frame.needs_connection")}: ${error.message}`;
    return;
  }
  reminded = "";
  showPhases();
  showBack();
  showThreats();
  showPlanned();
  fillRow();
  settings.fill(told);
  tick();
  drawLanes($("lanes"), told, expected);
  const wanted = JSON.stringify([told.set, Math.floor(told.now_min / 10)]);
  if (wanted !== expectedFor) {
    expectedFor = wanted;
    ask(`/api/cases/${caseId}/expected`).then((answer) => {
      expected = answer.expected;
      drawLanes($("lanes"), told, expected);
    }).catch(() => (expectedFor = ""));
  }
}

const settings = wireSettings({ caseId, fields: $("set-fields"), preview: $("preview"), save: $("set-save"), note });
wireSound($("sound-test"), $("mute"), $("muted"));
follow(caseId, (seq) => {
  if (!told || seq > lastSeq) load();
});
setInterval(load, 60000);
load();
