// What if I had …: a moment of what was done, what is done then instead, and both ways side by side.
import { ask } from "./ask.js";
import { word } from "./given.js";
import { make } from "./make.js";
import { asked, askManoeuvre, isManoeuvre } from "./manoeuvres.js";
import { textOf } from "./measures.js";
import { clockText } from "./moments.js";
import { called, deedCalled, givenText, givenTexts } from "./rehearsal-log.js";
import { stepper } from "./stepper.js";

const $ = (id) => document.getElementById(id);
const [NEXT_S, STEP_S] = [10, 5];
const MODES = ["volume", "pressure", "assisted", "spontaneous"];
// settings that can be set then: step, least, most
const SETTINGS = {
  tidal_volume_l: [0.5, 0.02, 40], respiratory_rate_per_min: [1, 1, 80], inspiratory_time_s: [0.1, 0.2, 15], inspiratory_pressure_cmh2o: [1, 1, 80],
  peep_cmh2o: [1, 0, 50], pressure_limit_cmh2o: [1, 5, 100], fresh_gas_flow_l_min: [0.5, 0, 100], fresh_gas_oxygen_fraction: [0.05, 0.21, 1],
  vaporiser_percent: [0.1, 0, 18], spare_volume_l: [0.5, 0, 80],
};

/** Wire the form. place: of the rehearsal; lines: what happened, {at_s, text}; told: the rehearsal; how: words for a critical action. */
export function wireWhatIf(place, lines, told, how) {
  const end = told.scenario.minutes * 60 - 1;
  const deeds = [];
  const from = stepper({ name: "moment_s", label: word("rehearse.from"), value: 0, step: STEP_S, low: 0, high: end, changed: () => deeds.forEach((it) => it.at.value < from.value && it.at.set(from.value)) });
  $("from-moment").append(from.element);
  $("from-line").replaceChildren(make("option", { value: "0", textContent: `0:00 ${word("rehearse.beginning")}` }), ...lines.map((it) => make("option", { value: String(it.at_s), textContent: `${clockText(it.at_s)} ${it.text}` })));
  $("from-line").onchange = () => from.set(Number($("from-line").value));

  $("add-deed").onclick = async () => {
    const deed = $("new-deed").value;
    const given = await takes(deed, told.settings);
    if (given) add(deed, given);
  };

  function add(deed, given) {
    const at_s = Math.max(from.value, deeds.length ? deeds.at(-1).at.value + NEXT_S : 0);
    const text = [deedCalled(deed), givenTexts(given)].filter(Boolean).join(": ");
    const at = stepper({ name: "moment_s", label: word("rehearse.at"), value: at_s, step: STEP_S, low: 0, high: end });
    const leave = make("button", { type: "button", textContent: word("rehearse.leave_out") });
    leave.setAttribute("aria-label", `${word("rehearse.leave_out")}: ${text}`);
    const it = { deed, given, at, element: make("li", {}, make("span", { textContent: text }), at.element, leave) };
    leave.onclick = () => {
      deeds.splice(deeds.indexOf(it), 1);
      it.element.remove();
    };
    deeds.push(it);
    $("instead-deeds").append(it.element);
  }

  $("instead").onsubmit = async (event) => {
    event.preventDefault();
    $("apart").replaceChildren(make("progress", { className: "working" }));
    try {
      const body = { from_s: from.value, deeds: deeds.map((it) => ({ at_s: it.at.value, deed: it.deed, with: it.given })) };
      $("apart").replaceChildren(beside(await ask(`${place}/what-if`, { method: "POST", body }), how));
    } catch (error) {
      $("apart").replaceChildren(make("p", { className: "problem", textContent: error.message }));
    }
  };
}

/** Ask what a deed takes; resolves to that, {} where it takes nothing, null where the person left. */
async function takes(deed, known) {
  if (deed === "set") return askSetting(known);
  if (isManoeuvre(deed)) return askManoeuvre(deed, deedCalled(deed), known);
  if (deed !== "name the cause") return {};
  const causes = make("select", { ariaLabel: deedCalled(deed) }, ...[...document.querySelectorAll("[data-cause]")].map((it) => make("option", { value: it.dataset.cause, textContent: it.textContent })));
  return asked(deedCalled(deed), [causes], () => ({ cause: causes.value }));
}

function askSetting(known) {
  const which = make("select", { ariaLabel: word("rehearse.setting") }, ...[...Object.keys(SETTINGS), "mode"].map((key) => make("option", { value: key, textContent: key === "mode" ? word("watch.mode") : called(key) })));
  const mode = make("select", { ariaLabel: word("watch.mode") }, ...MODES.map((value) => make("option", { value, textContent: word(`watch.mode_${value}`) })));
  const box = make("div");
  let number = null;
  const show = () => {
    const limits = SETTINGS[which.value];
    number = limits && stepper({ name: which.value, label: called(which.value), value: known[which.value] ?? limits[1], step: limits[0], low: limits[1], high: limits[2] });
    box.replaceChildren(number ? number.element : mode);
  };
  which.onchange = show;
  show();
  return asked(deedCalled("set"), [which, box], () => ({ [which.value]: number ? number.value : mode.value }));
}

const number = (value) => (value === null ? "–" : textOf("", Math.round(value * 10) / 10));

function beside(found, how) {
  const row = (name, ...values) => make("tr", {}, make("th", { textContent: name, scope: "row" }), ...values.map((value) => make("td", { className: "number", textContent: value })));
  const head = make("tr", {}, ...["", word("rehearse.was"), word("rehearse.would")].map((text) => make("th", { textContent: text, className: text ? "number" : "" })));
  const met = found.critical_actions.map((it) => row(it.says, how(it.was), how(it.would)));
  const harm = found.harm.map((it) => row(word(`rehearse.${it.key}`), number(it.was), number(it.would)));
  const end = found.at_end.map((it) => row(`${called(it.key)}, ${word("rehearse.at_end")}`, textOf(it.key, it.was), textOf(it.key, it.would)));
  return make("div", { className: "wide-table", tabIndex: 0 }, make("table", {}, make("thead", {}, head), make("tbody", {}, ...met, ...harm, ...end)));
}
