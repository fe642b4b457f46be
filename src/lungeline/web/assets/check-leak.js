// The leak test: how, how the circle stands, readings as one goes; judged with every reading that is noted.
import { ask, newest } from "./ask.js";
import { leakAnswer } from "./check-leak-answer.js";
import { notingOf } from "./check-noting.js";
import { button, called, caseId, isLogged, make, machineName, onMachine, problemBox, spanText, verdictBox } from "./check-parts.js";
import { asked, kept, keep, missing, start } from "./check-readings.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { momentText } from "./queue.js";
import { notice } from "./say.js";
import { stepper } from "./stepper.js";

const METHODS = ["compensating", "decay", "rise-fall", "two-pressures"];
const parts = {};
let state = kept();
let wanted = null; // the step of the guided check that asked for a leak
let judged = null;
let told = null; // where the last test was kept
let noting = null;

export function startLeak(box) {
  for (const name of ["methods", "circle", "readings", "answer", "keeping"]) parts[name] = make("section", { className: "sheet" });
  parts.keeping.setAttribute("aria-live", "polite");
  box.append(parts.methods, make("div", { className: "two" }, make("div", {}, parts.circle, parts.readings), make("div", {}, parts.answer, parts.keeping)));
  showMethods();
  showMethod();
  onMachine(showKeeping);
  document.addEventListener("lungeline:measure", ({ detail }) => {
    wanted = detail;
    told = null;
    showKeeping();
  });
}

const judge = newest(
  (body) => ask("/api/check/leak", { method: "POST", body }),
  (answer, body) => {
    judged = { answer, body };
    noting.brief.replaceChildren(verdictBox(answer.verdict, textOf("leak_ml_min", answer.leak_ml_min), make("div", {}, spanText("leak_ml_min", answer.leak_low_ml_min, answer.leak_high_ml_min))));
    parts.answer.replaceChildren(...leakAnswer(answer, state));
    showKeeping();
  },
  (error) => {
    judged = null;
    noting.brief.replaceChildren(problemBox(error));
    parts.answer.replaceChildren(make("h2", {}, word("check.answer")), problemBox(error));
    showKeeping();
  },
);

/** Something was noted, changed or taken back: keep it here, and judge anew. */
function changed() {
  told = null;
  keep(state);
  noting.showRows();
  const lacks = missing(state);
  if (!lacks.length) return judge({ ...asked(state), case: caseId });
  judged = null;
  noting.brief.replaceChildren();
  parts.answer.replaceChildren(make("h2", {}, word("check.answer")), make("p", { className: "empty" }, `${word("check.still_needed")} ${lacks.map((key) => word(`check.need_${key}`)).join(", ")}.`));
  showKeeping();
  return undefined;
}

// --- how ---------------------------------------------------------------------------------------------------------

function showMethods() {
  const choices = make("div", { className: "methods choices" }, ...METHODS.map((method) => {
    const radio = make("input", { type: "radio", name: "method", value: method, checked: method === state.method, onchange: () => {
      state.method = method;
      showMethod();
    } });
    return make("label", {}, radio, make("span", {}, word(`check.method_${method}`), make("small", {}, word(`check.good_for_${method}`))));
  }));
  parts.methods.replaceChildren(make("fieldset", {}, make("legend", {}, make("strong", {}, word("check.method"))), choices));
}

function showMethod() {
  showCircle();
  showReadings();
  changed();
}

// --- how the circle stands ---------------------------------------------------------------------------------------

function showCircle() {
  const number = (name, step, low, high) => stepper({ name, label: called(name), value: state[name] ?? null, step, low, high, changed: (now) => {
    state[name] = now;
    changed();
  } }).element;
  const tick = (name) => make("label", { className: "tick" }, make("input", { type: "checkbox", checked: Boolean(state[name]), onchange: ({ target }) => {
    state[name] = target.checked;
    changed();
  } }), word(`check.${name}`));
  const steps = make("ol", { className: "how" }, ...[1, 2, 3, 4].map((place) => word(`check.how_${state.method}_${place}`)).filter((text) => !text.startsWith("check.")).map((text) => make("li", {}, text)));
  const more = make("details", { open: state.sample_flow_l_min > 0 || state.peep_cmh2o > 0 }, make("summary", {}, word("check.what_disturbs")),
    make("p", { className: "quiet" }, word("check.what_disturbs_why")),
    make("div", { className: "numbers" }, number("sample_flow_l_min", 0.05, 0, 2), number("peep_cmh2o", 1, 0, 50)));
  parts.circle.replaceChildren(make("h2", {}, word("check.circle")), steps,
    make("div", { className: "numbers" }, number("volume_l", 5, 0.5, 250)),
    make("p", { className: "quiet" }, word(`check.volume_${state.method === "decay" ? "needed" : "helps"}`)), tick("bag_attached"), more);
}

// --- readings ----------------------------------------------------------------------------------------------------

function showReadings() {
  noting = notingOf({
    state: () => state,
    changed,
    again() {
      const before = structuredClone(state);
      state = start(state);
      showMethod();
      notice(word("check.begun_anew"), { undo: () => {
        state = before;
        showMethods();
        showMethod();
      } });
    },
  });
  parts.readings.replaceChildren(make("h2", {}, word("check.readings")), ...noting.elements);
}

// --- keeping -----------------------------------------------------------------------------------------------------

function showKeeping() {
  if (told) return parts.keeping.replaceChildren(...told); // until something is read anew, also where machines are listed anew
  parts.keeping.hidden = !judged && !wanted;
  const where = [isLogged() && `${word("check.log_of")} ${machineName()}`, caseId && word("check.record_of_case")].filter(Boolean);
  const take = button(word("check.keep"), keepIt, { main: true, disabled: !judged || !where.length });
  const goes = make("p", { className: "quiet" }, where.length ? `${word("check.goes_to")} ${where.join(" · ")}` : word("check.choose_to_keep"));
  parts.keeping.replaceChildren(make("h2", {}, word("check.keep_head")), goes, take);
  if (wanted) {
    parts.keeping.append(button(`${word("check.into_step")} “${wanted.title}”`, () => {
      document.dispatchEvent(new CustomEvent("lungeline:leak-for-step", { detail: { step: wanted.step, leak_ml_min: judged.answer.leak_at_30_cmh2o_ml_min } }));
      wanted = null;
      showKeeping();
    }, { disabled: !judged }));
  }
  return undefined;
}

async function keepIt() {
  const mine = judged;
  const { body } = mine;
  judged.at ??= momentText(); // asked again after a lost answer, it is the same test
  parts.keeping.querySelectorAll("button").forEach((each) => (each.disabled = true));
  try {
    const answer = await ask("/api/check/leak", { method: "POST", body: { ...body, at: mine.at, machine: machineName(), keep: true } });
    const where = [answer.kept.machine && `${word("check.kept_log")} ${answer.kept.machine} (${answer.kept.seq})`, answer.kept.case && word("check.kept_case")].filter(Boolean);
    if (judged === mine) {
      parts.answer.replaceChildren(...leakAnswer(answer, state));
      told = [make("h2", {}, `✓ ${word("check.kept")}`), make("p", {}, where.join(" · "))];
      judged = null;
      showKeeping();
    } else notice(`✓ ${word("check.kept")}: ${where.join(" · ")}`); // something was read anew meanwhile
    document.dispatchEvent(new CustomEvent("lungeline:check-kept"));
  } catch (error) {
    notice(error.message, { kind: "problem", ms: 0 });
    showKeeping();
  }
}
