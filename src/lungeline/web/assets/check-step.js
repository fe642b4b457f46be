// One step of the guided check: what to do, by what it passes, where that is from, what failing means; and big answers.
import { button, called, findingBox, make, termed } from "./check-parts.js";
import { word } from "./given.js";
import { textOf, toRead, toStore } from "./measures.js";
import { stepper } from "./stepper.js";

// by how much a number goes up with one tap, in the unit the person reads
const STEPS = { bar: 1, percent: 0.5, multiple: 0.5, s: 1, ml_min: 10, l: 0.1, cmh2o: 1, min: 1 };

/** The sheet of one step. answer: called with what the person answers. */
export function stepSheet(walk, step, place, answer) {
  const heard = new Set();
  const rows = make("dl", {}, ...[
    ["passes", `${step.passes}${limitText(step)}`], ["from", [step.source, ...step.sources].join(" · ")],
    ["failing", termed("verdict", step.fails)], ["then", step.fix],
  ].flatMap(([name, text]) => [make("dt", {}, word(`check.${name}`)), make("dd", {}, text)]));
  return make("section", { className: "sheet step", dataset: { step: step.key } },
    make("p", { className: "quiet" }, `${word("check.step")} ${place}/${walk.of}${step.result ? ` · ${termed("result", step.result)}` : ""}`),
    make("h2", {}, step.title), make("p", { className: "do" }, step.do), rows,
    machineSays(walk, step, heard), ...answers(step, (body) => answer({ notices: [...heard], ...body })));
}

function limitText(step) {
  if (step.kind !== "number") return "";
  const ends = [["least", step.least], ["most", step.most]].filter(([, value]) => value !== null);
  return ` [${ends.map(([end, value]) => `${word(`check.${end}`)} ${textOf(step.numbers[0], value)}`).join(", ")}]`;
}

function answers(step, answer) {
  const row = make("div", { className: "answers" });
  const skip = button(word("check.skip"), () => answer({ skipped: true }));
  const failed = (text) => button(text, () => answer({ good: false }));
  if (step.kind === "tick") {
    row.append(button(`✓ ${word("check.good")}`, () => answer({ good: true }), { main: true }), failed(`✕ ${word("check.bad")}`), skip);
    return [row];
  }
  if (step.kind === "outcome") {
    row.append(...step.outcomes.map((each) => {
      const made = button(make("strong", {}, each.word), () => answer({ word: each.key }));
      made.classList.add("outcome");
      made.append(make("small", {}, each.sound));
      return made;
    }), skip);
    return [row];
  }
  const read = Object.fromEntries(step.numbers.map((name) => [name, null]));
  const judge = button(`✓ ${word("check.judge")}`, () => answer({ good: true, values: read }), { main: true, disabled: true });
  const numbers = make("div", { className: "numbers" }, ...step.numbers.map((name) => {
    const suffix = Object.keys(STEPS).find((each) => name.endsWith(`_${each}`));
    const size = toStore(name, toRead(name, 0) + (STEPS[suffix] ?? 1));
    const made = stepper({ name, label: called(name), value: null, step: size, low: 0, changed: (now) => {
      read[name] = now;
      judge.disabled = Object.values(read).some((each) => each === null);
    } });
    made.element.dataset.number = name;
    made.element.put = made.set;
    return made.element;
  }));
  row.append(judge, failed(word("check.not_possible")), skip);
  if (step.kind === "leak") {
    row.append(button(word("check.measure"), () => {
      document.dispatchEvent(new CustomEvent("lungeline:measure", { detail: { step: step.key, title: step.title } }));
      document.dispatchEvent(new CustomEvent("lungeline:show-part", { detail: "leak" }));
    }));
  }
  return [make("p", { className: "quiet" }, word("check.number_needed")), numbers, row];
}

/** What the machine says: told apart at once whether it is to be expected at this step. */
function machineSays(walk, step, heard) {
  const told = make("div", { aria: { live: "polite" } });
  const show = () => told.replaceChildren(...[...heard].map((key) => {
    const it = walk.notices.find((each) => each.key === key);
    return step.normal.includes(key)
      ? findingBox({ severity: "note", says: it.says, do: word("check.normal_here") })
      : findingBox({ severity: step.fails, says: `${word("check.not_normal")} ${it.says}`, do: it.else_means });
  }));
  const list = make("div", { className: "choices" }, ...walk.notices.map((it) => {
    const made = button(it.says, () => {
      if (!heard.delete(it.key)) heard.add(it.key);
      made.ariaPressed = String(heard.has(it.key));
      show();
    }, { ariaPressed: "false" });
    made.classList.remove("theatre");
    return made;
  }));
  return make("details", {}, make("summary", {}, word("check.machine_says")), list, told);
}
