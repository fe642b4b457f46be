// Readings of a leak test noted as one goes: what the needle does at a flow, or pressures with their times.
import { clock } from "./check-clock.js";
import { button, called, make } from "./check-parts.js";
import { keep, tidy } from "./check-readings.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { notice } from "./say.js";
import { stepper } from "./stepper.js";

const LEAST_WAIT_S = 60;
let timer = null;
let ticked = () => {};

/** The place where readings are noted: {elements, brief, showRows()}. state(): what was read; changed, again: called. */
export function notingOf({ state, changed, again }) {
  timer ??= clock(() => ticked());
  ticked = () => {};
  const rows = make("div", {});
  const brief = make("div", { className: "brief", aria: { live: "polite" } });
  const held = ["compensating", "two-pressures"].includes(state().method);
  const anew = button(word("check.start_again"), () => {
    timer.reset();
    again();
  });
  const elements = make("div", {});
  const build = () => elements.replaceChildren(...(held ? heldReadings(state, changed) : timedReadings(state, changed, build)), rows, brief, anew);
  build();
  return { elements: [elements], brief, showRows: () => showRows(rows, tidy(state()), held, changed) };
}

const last = (state, name, step, low, high, first = null) =>
  stepper({ name, label: called(name), value: state().last[name] ?? first, step, low, high, changed: (now) => (state().last[name] = now) });

/** The flow that holds a pressure: what the needle does at a flow. */
function heldReadings(state, changed) {
  const pressure = last(state, "pressure_cmh2o", 1, 1, 100, 30);
  const flow = last(state, "flow_l_min", 0.05, 0, 100);
  const note = (does) => () => {
    if (flow.value === null) return notice(word("check.flow_first"));
    const look_s = timer.seconds() > 0 ? Math.max(1, Math.round(timer.seconds())) : null;
    state().tried.push({ pressure_cmh2o: pressure.value, flow_l_min: flow.value, does, look_s });
    timer.reset();
    return changed();
  };
  const needle = state().method === "compensating" ? ["rises", "stands", "falls"] : ["stands"];
  return [timer.element, make("div", { className: "numbers" }, pressure.element, flow.element), make("p", { className: "quiet" }, word("check.needle")),
    make("div", { className: "answers" }, ...needle.map((does) => button(word(`check.${does}`), note(does), { main: does === "stands" })))];
}

/** Pressures with their times: of a fall, or of a rise and a fall. build: called to show the other phase. */
function timedReadings(state, changed, build) {
  const both = state().method === "rise-fall";
  const time = stepper({ name: "at_s", label: word("check.at_time"), value: Math.round(timer.seconds()), step: 1, low: 0, high: 7200 });
  ticked = () => time.set(Math.round(timer.seconds()), { quiet: true });
  const pressure = last(state, "reading_cmh2o", 0.5, 0, 100);
  const kept = (name, label, step, high) => stepper({ name, label, value: state()[name], step, low: 0, high, changed: (now) => {
    state()[name] = now;
    changed();
  } });
  const waited = kept("waited_s", called("waited_s"), 10, 3600);
  const note = () => {
    if (pressure.value === null) return notice(word("check.pressure_first"));
    const now = state();
    const phase = both ? now.phase : "fall";
    // while the clock runs, the moment counts at which the button is pressed
    const at = timer.running() ? Number(timer.seconds().toFixed(1)) : time.value;
    if (phase === "fall" && now.filled_at && !now.timed.some((row) => row.phase === "fall")) {
      now.waited_s = Math.max(0, Math.round((Date.now() - now.filled_at) / 1000 - (timer.running() ? at : 0)));
      waited.set(now.waited_s, { quiet: true });
    }
    now.timed = now.timed.filter((row) => row.phase !== phase || row.at_s !== at);
    now.timed.push({ phase, at_s: at, pressure_cmh2o: pressure.value });
    return changed();
  };
  return [...(both ? [riseOrFall(state, changed, build, kept)] : []), make("div", { className: "numbers" }, filledNow(state), waited.element), heldMeanwhile(state, changed), timer.element,
    make("div", { className: "numbers" }, time.element, pressure.element), make("div", { className: "answers" }, button(word("check.note"), note, { main: true }))];
}

function riseOrFall(state, changed, build, kept) {
  const choose = (phase) => button(word(`check.phase_${phase}`), () => {
    state().phase = phase;
    timer.reset();
    build();
    changed();
  }, { ariaPressed: String(state().phase === phase) });
  return make("div", {}, make("div", { className: "numbers" }, kept("rise_flow_l_min", word("check.rise_flow"), 0.1, 100).element),
    make("div", { className: "choices", aria: { role: "group" } }, choose("rise"), choose("fall")));
}

const filledNow = (state) => button(word("check.filled_now"), () => {
  state().filled_at = Date.now();
  keep(state());
  notice(`${word("check.wait_then")} ${textOf("s", LEAST_WAIT_S)}`);
});

const heldMeanwhile = (state, changed) => make("label", { className: "tick" }, make("input", { type: "checkbox", checked: state().held, onchange: ({ target }) => {
  state().held = target.checked;
  changed();
} }), word("check.held"));

function showRows(box, state, held, changed) {
  const rows = held ? state.tried : state.timed;
  if (!rows.length) return box.replaceChildren(make("p", { className: "quiet" }, word("check.no_reading")));
  const cells = held
    ? (row) => [textOf("pressure_cmh2o", row.pressure_cmh2o), textOf("flow_l_min", row.flow_l_min), word(`check.${row.does}`)]
    : (row) => [word(`check.phase_${row.phase}_short`), textOf("at_s", row.at_s), textOf("pressure_cmh2o", row.pressure_cmh2o)];
  const away = (row) => make("button", { type: "button", onclick: () => {
    rows.splice(rows.indexOf(row), 1);
    changed();
  }, ariaLabel: `${word("check.take_away")}: ${cells(row).join(", ")}` }, "✕");
  return box.replaceChildren(make("table", { className: "readings" }, make("tbody", {}, ...rows.map((row) =>
    make("tr", {}, ...cells(row).map((text) => make("td", {}, text)), make("td", { className: "number" }, away(row)))))));
}
