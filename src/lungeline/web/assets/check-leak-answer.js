// What a leak test says: verdict, the leak with its interval, what could not be seen, what it means, by what it is judged.
import { called, findingBox, make, spanText, termed, verdictBox } from "./check-parts.js";
import { course, heldLeaks } from "./check-readings.js";
import { word } from "./given.js";
import { lane } from "./lane.js";
import { textOf } from "./measures.js";
import { whyButton } from "./why.js";

const USE = ["mean_leak_in_use_ml_min", "share_of_fresh_gas_fraction", "loss_per_breath_ml", "share_of_tidal_volume_fraction", "spare_lasts_minutes"];
const NEAR = 2;
const end = (name, which) => name.replace(/_(ml_min|fraction|minutes|ml)$/, `_${which}_$1`); // mean_leak_low_ml_min of mean_leak_ml_min

/** The elements of an answer. answer: the server's; state: what was read. */
export function leakAnswer(answer, state) {
  const why = (name) => answer.why.find((each) => each.name.endsWith(name));
  const leak = `${textOf("leak_ml_min", answer.leak_ml_min)} ${word("check.at")} ${textOf("at_pressure_cmh2o", answer.at_pressure_cmh2o)}`;
  const interval = `${spanText("leak_ml_min", answer.leak_low_ml_min, answer.leak_high_ml_min)} (${word("check.of_100")})`;
  return [
    make("h2", {}, word("check.answer")),
    verdictBox(answer.verdict, make("div", { className: "leak" }, make("strong", {}, leak)), make("div", {}, interval)),
    ...drawings(answer, state),
    numbers(answer, why),
    ...answer.said.map(findingBox),
    make("h3", {}, word("check.in_use")), make("p", { className: "quiet" }, word(`check.in_use_${answer.weighed}`)), inUse(answer, why),
    restOn(answer),
  ];
}

const rowsOf = (rows) => make("dl", { className: "use" }, ...rows.filter(Boolean).flatMap(([name, text, told]) => [
  make("dt", {}, name), make("dd", {}, text, " ", told ? whyButton(name, () => ({ ...told, label: name })) : null)]));

function numbers(answer, why) {
  const { compliance_ml_cmh2o: store, leak_exponent: law } = answer;
  return rowsOf([
    [word("check.limit_of_detection"), `${textOf("detection_limit_ml_min", answer.detection_limit_ml_min)}`, why("detection_limit_ml_min")],
    [word("check.at_30"), `${textOf("leak_ml_min", answer.leak_at_30_cmh2o_ml_min)} (${spanText("leak_ml_min", answer.leak_at_30_cmh2o_low_ml_min, answer.leak_at_30_cmh2o_high_ml_min)})`, why("leak_ml_min")],
    [word("check.law"), `${termed("law", answer.leak_law)}${law === null ? "" : ` (${textOf("leak_exponent_number", law)})`}`, why("leak_exponent_number")],
    store === null ? null : [word("check.compliance"), `${textOf("compliance_ml_cmh2o", store)} (${spanText("compliance_ml_cmh2o", answer.compliance_low_ml_cmh2o, answer.compliance_high_ml_cmh2o)})`, why("compliance_ml_cmh2o")],
    [word("check.size"), termed("size", answer.size)],
  ]);
}

function inUse(answer, why) {
  return rowsOf(USE.filter((name) => answer[name] !== undefined && answer[name] !== null).map((name) => {
    const [low, high] = ["low", "high"].map((which) => answer[end(name, which)]);
    const range = low === undefined || low === null || high === null ? "" : ` (${spanText(name, low, high)})`;
    return [called(name), `${textOf(name, answer[name])}${range}`, why(name)];
  }));
}

function restOn(answer) {
  const { limits } = answer;
  const who = limits.signed_by ? ` ${limits.signed_by} ${limits.signed_on}` : "";
  const rows = answer.published_for_other_systems.map((it) => make("tr", {}, ...[
    textOf("limit_ml_min", it.limit_ml_min), textOf("at_pressure_cmh2o", it.at_pressure_cmh2o), termed("applies", it.applies_to), it.source].map((text) => make("td", {}, text))));
  return make("details", { open: false }, make("summary", {}, word("check.judged_by")),
    make("p", {}, `${word(`check.rest_${answer.limits_rest}`)}${who}${limits.reason ? ` (${limits.reason})` : ""}`),
    make("p", {}, `${word("check.passes_to")} ${textOf("pass_ml_min", limits.pass_ml_min)}, ${word("check.fails_above")} ${textOf("fail_ml_min", limits.fail_ml_min)}, ${word("check.at")} ${textOf("at_pressure_cmh2o", 30)}.`),
    make("p", { className: "quiet" }, word("check.published_why")),
    make("div", { className: "wide-table" }, make("table", {}, make("tbody", {}, ...rows))));
}

// --- drawings ----------------------------------------------------------------------------------------------------

function drawings({ curves, at_pressure_cmh2o: at, leak_ml_min: leak }, state) {
  const box = make("div", {});
  for (const phase of ["rise", "fall"]) {
    if (!curves[phase]) continue;
    const it = curves[phase];
    const read = new Map(course(state, phase));
    const drawn = lane(box, { name: "reading_cmh2o", label: `${word(`check.phase_${phase}_short`)}; ${word("check.by_leak_alone")}`, height: 120, axis: true, last: "s", dots: true });
    drawn.draw(joined(it.at_s, [it.pressure_cmh2o, it.low_cmh2o, it.high_cmh2o], read));
    drawn.tell([...read.values()].at(-1));
  }
  const { growth } = curves;
  const points = new Map(["compensating", "two-pressures"].includes(state.method) ? heldLeaks(state) : [[at, leak]]);
  const drawn = lane(box, { name: "leak_ml_min", label: `${word("check.leak_over_pressure")}; ${word("check.dashed_limits")}`, height: 130, axis: true, last: "cmH2O", dots: true });
  const columns = joined(growth.at_cmh2o, [growth.leak_ml_min, growth.low_ml_min, growth.high_ml_min, growth.pass_ml_min, growth.fail_ml_min], points);
  const [pass, fail] = columns.rest;
  // the limit to fail would press everything else flat where the leak is far from it
  const near = Math.max(...growth.high_ml_min) > Math.max(...growth.fail_ml_min) / NEAR;
  drawn.draw({ ...columns, set: near ? [pass, fail] : [pass] });
  drawn.tell(leak);
  return [box];
}

/** Curves and dots on one axis: places of both, in order; a curve goes straight on between its own. */
function joined(at, columns, read) {
  const all = [...new Set([...at, ...read.keys()])].sort((a, b) => a - b);
  const along = (column) => all.map((place) => {
    const after = at.findIndex((each) => each >= place);
    if (after < 0) return null;
    if (at[after] === place || after === 0) return column[after];
    const part = (place - at[after - 1]) / (at[after] - at[after - 1]);
    return column[after - 1] + part * (column[after] - column[after - 1]);
  });
  const [live, low, high, ...rest] = columns.map(along);
  return { at: all, trace: all.map((place) => read.get(place) ?? null), live, low, high, rest };
}
