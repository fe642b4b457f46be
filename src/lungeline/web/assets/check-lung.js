// The ventilator on a test lung: set against delivered, and the pressure the simulated machine gives on such a lung.
import { ask } from "./ask.js";
import { button, called, caseId, findingBox, isLogged, make, machineName, problemBox, verdictBox } from "./check-parts.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { momentText } from "./queue.js";
import { notice } from "./say.js";
import { stepper } from "./stepper.js";
import { whyButton } from "./why.js";

const LUNG = [["compliance_l_cmh2o", 0.5, 0.05, 0.005, 3], ["resistance_cmh2o_s_l", 1, 0.5, 0, 50]];
const SET = [["set_tidal_volume_l", null, 0.5, 0.02, 40], ["set_rate_per_min", null, 1, 1, 80], ["set_inspiratory_time_s", null, 0.1, 0.2, 15], ["set_peep_cmh2o", 0, 1, 0, 50]];
const READ = [["measured_tidal_volume_l", null, 0.1, 0, 60], ["measured_rate_per_min", null, 1, 0, 120], ["measured_peak_cmh2o", null, 1, 0, 150]];
const KEPT = "lungeline-check-lung";
let keptAt = null; // when the values as they stand were first kept: asked again after a lost answer, it is the same test
const values = JSON.parse(sessionStorage.getItem(KEPT) ?? "{}");

export function startLung(box) {
  const answer = make("section", { className: "sheet", hidden: true, aria: { live: "polite" } });
  const ask_ = button(word("check.judge"), () => judge(answer), { main: true });
  const ready = () => {
    ask_.disabled = SET.slice(0, 3).some(([name]) => (values[name] ?? null) === null);
    keptAt = null;
    sessionStorage.setItem(KEPT, JSON.stringify(values));
  };
  const group = (head, rows) => make("fieldset", {}, make("legend", {}, make("h3", {}, word(`check.${head}`))), make("div", { className: "numbers" }, ...rows.map(([name, first, step, low, high]) => {
    values[name] ??= first;
    return stepper({ name, label: called(name), value: values[name], step, low, high, changed: (now) => {
      values[name] = now;
      ready();
    } }).element;
  })));
  box.append(make("div", { className: "two" }, make("section", { className: "sheet" }, make("h2", {}, word("check.lung")), make("p", { className: "quiet" }, word("check.lung_why")),
    group("lung_is", LUNG), group("lung_set", SET), group("lung_read", READ), make("div", { className: "answers" }, ask_)), answer));
  ready();
}

async function judge(box, keep = null) {
  const read = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null));
  box.hidden = false;
  box.replaceChildren(make("p", {}, word("frame.wait")), make("progress", { className: "working" }));
  try {
    const it = await ask("/api/check/lung", { method: "POST", body: { values: read, machine: machineName(), case: caseId, ...(keep ? { keep: true, at: keep } : {}) } });
    box.replaceChildren(...shown(it, box));
    if (it.kept) document.dispatchEvent(new CustomEvent("lungeline:check-kept"));
  } catch (error) {
    box.replaceChildren(problemBox(error));
    if (keep) notice(error.message, { kind: "problem", ms: 0 });
  }
}

function shown(it, box) {
  const rows = [
    ["tidal_volume_l", it.set_tidal_volume_l, it.expected_tidal_volume_l, it.measured_tidal_volume_l],
    ["rate_per_min", it.set_rate_per_min, null, it.measured_rate_per_min],
    ["peak_cmh2o", null, it.expected_peak_cmh2o, it.measured_peak_cmh2o],
  ];
  const table = make("table", {}, make("thead", {}, make("tr", {}, ...["", "column_set", "column_expected", "column_measured"].map((key) => make("th", { scope: "col" }, key && word(`check.${key}`))))),
    make("tbody", {}, ...rows.map(([name, ...numbers]) => make("tr", {}, make("th", { scope: "row" }, called(name)), ...numbers.map((value) => make("td", {}, value === null ? "–" : textOf(name, value)))))));
  const kept = it.kept && [it.kept.machine && `${word("check.kept_log")} ${it.kept.machine} (${it.kept.seq})`, it.kept.case && word("check.kept_case")].filter(Boolean).join(" · ");
  const can = isLogged() || caseId;
  return [verdictBox(it.verdict, word("check.lung")), make("div", { className: "wide-table" }, table),
    ...it.why.map((each) => make("p", { className: "quiet" }, `${called(each.name.replace("check.", ""))}: ${textOf(each.name, each.value)} `, whyButton(each.name, () => ({ ...each, label: called(each.name.replace("check.", "")) })))),
    ...it.said.map(findingBox),
    kept ? make("p", {}, `✓ ${kept}`) : button(word("check.keep"), () => judge(box, (keptAt ??= momentText())), { main: true, disabled: !can }),
    kept || can ? null : make("p", { className: "quiet" }, word("check.choose_to_keep"))].filter(Boolean);
}
