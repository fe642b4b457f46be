// The guided check: one step at a time. Each answer is on the server's disk before the next step is shown.
import { ask } from "./ask.js";
import { button, caseId, findingBox, make, machineName, momentOf, onMachine, problemBox, termed, verdictBox } from "./check-parts.js";
import { stepSheet } from "./check-step.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { notice } from "./say.js";

const FORMS = ["full", "short", "after"];
let box;
let open = null;

export function startWalk(element) {
  box = element;
  onMachine((name) => {
    if (open && open.machine === name) return;
    open = null;
    showForms(name);
  });
  document.addEventListener("lungeline:leak-for-step", ({ detail }) => fillStep(detail));
}

// --- which form --------------------------------------------------------------------------------------------------

async function showForms(name) {
  if (!name) return box.replaceChildren(make("p", { className: "empty" }, word("check.choose_first")));
  try {
    const found = await ask(`/api/check/walks?${new URLSearchParams({ machine: name, case: caseId })}`);
    // the list of machines comes again and again: nobody's finger should find another button under it for that
    const same = box.firstElementChild?.dataset.found === JSON.stringify([name, found]);
    if (name === machineName() && !open && !same) box.replaceChildren(...forms(found, JSON.stringify([name, found])));
  } catch (error) {
    box.replaceChildren(problemBox(error), button(word("check.again"), () => showForms(name)));
  }
  return undefined;
}

function forms(found, as) {
  const sheet = make("section", { className: "sheet", dataset: { found: as } }, make("h2", {}, word("check.guided")), make("p", { className: "quiet" }, word("check.guided_why")));
  const row = make("div", { className: "forms" });
  for (const form of FORMS) {
    const begun = found.open.find((each) => each.form === form);
    const offered = found.offered.includes(form);
    const told = begun ? `${word("check.go_on")} ${begun.done}/${begun.of}, ${momentOf(begun.began_at, { day: false })}` : word(offered ? `check.form_${form}` : "check.short_not_yet");
    row.append(button(make("strong", {}, word(`check.${form}`)), () => begin(form), { main: Boolean(begun) || (form === "full" && !found.open.length), disabled: !offered && !begun, dataset: { form } }));
    row.lastChild.append(make("small", {}, told));
  }
  sheet.append(row);
  if (found.today.length) {
    sheet.append(make("h3", {}, word("check.today")));
    for (const each of found.today) {
      sheet.append(button(`${termed("verdict", each.verdict)} · ${word(`check.${each.form}`)} · ${momentOf(each.began_at, { day: false })}`, () => load(each.id)));
    }
  }
  if (!found.registered) sheet.append(make("p", { className: "quiet" }, word("check.kept_in_file")));
  return [sheet];
}

const begin = (form) => told(ask("/api/check/walks", { method: "POST", body: { machine: machineName(), form, case: caseId } }));
const load = (id) => told(ask(`/api/check/walks/${id}`));

async function told(question, again) {
  box.setAttribute("aria-busy", "true");
  box.querySelectorAll(".answers button").forEach((each) => (each.disabled = true));
  try {
    show(await question);
  } catch (error) {
    notice(error.message, { kind: "problem" });
    box.querySelectorAll(".answers button").forEach((each) => (each.disabled = false));
    again?.();
  } finally {
    box.removeAttribute("aria-busy");
  }
}

// --- one step ----------------------------------------------------------------------------------------------------

function show(walk, key = walk.next) {
  open = walk;
  const step = walk.steps.find((each) => each.key === key);
  const place = walk.steps.indexOf(step) + 1;
  const head = make("div", { className: "row" },
    make("strong", {}, `${walk.machine} · ${word(`check.${walk.form}`)}`),
    make("span", {}, `${walk.done}/${walk.of}`),
    button(word("check.leave"), () => {
      open = null;
      showForms(machineName());
    }));
  const bar = make("progress", { value: walk.done, max: walk.of, className: "working", aria: { label: `${walk.done}/${walk.of}` } });
  const last = lastAnswer(walk);
  box.replaceChildren(make("section", { className: "sheet" }, head, bar),
    ...(last ? [last] : []),
    ...(step ? [stepSheet(walk, step, place, (body) => told(ask(`/api/check/walks/${walk.id}/answers`, { method: "POST", body: { step: step.key, ...body } })))] : [ended(walk)]),
    allSteps(walk, key),
    make("p", { className: "quiet" }, `${word("check.list")}: ${walk.checklist}`));
  const heading = box.querySelector(".step h2, .verdict strong");
  if (heading) {
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
    box.scrollIntoView({ block: "start" });
  }
}

/** What the answer before came to, where it was not a plain pass: what it means and what to do. */
function lastAnswer(walk) {
  const before = walk.steps.filter((each) => each.at).sort((a, b) => (a.at < b.at ? -1 : 1)).at(-1);
  if (!before || before.result === "pass" || !walk.next) return null;
  const severity = before.result === "fail" ? before.fails : "caution";
  return findingBox({ severity, says: `${before.title}: ${termed("result", before.result)}.`, do: before.fix });
}

function ended(walk) {
  const sheet = make("section", { className: "sheet" }, verdictBox(walk.verdict, make("div", {}, `${word("check.finished")} · ${walk.machine} · ${word(`check.${walk.form}`)}`)),
    ...walk.said.map(findingBox));
  const where = [];
  if (walk.kept?.machine) where.push(`${word("check.kept_log")} ${walk.kept.machine} (${walk.kept.seq})`);
  if (walk.kept?.case) where.push(word("check.kept_case"));
  sheet.append(make("p", {}, where.join(" · ") || (walk.not_kept ? "" : word("check.kept_in_file"))));
  if (walk.not_kept) sheet.append(make("p", { className: "problem" }, `${word("check.not_kept")} ${walk.not_kept}`));
  return sheet;
}

/** Put a leak that was measured into the step that asked for it. */
function fillStep({ step, leak_ml_min: leak }) {
  const shown = box.querySelector(`.step[data-step="${step}"] [data-number]`);
  if (shown) shown.put(leak);
  document.dispatchEvent(new CustomEvent("lungeline:show-part", { detail: "walk" }));
}

// --- all steps ---------------------------------------------------------------------------------------------------

function allSteps(walk, current) {
  const list = make("ol", { className: "steps" }, ...walk.steps.map((step) => {
    const values = Object.entries(step.values).map(([name, value]) => textOf(name, value)).join(", ");
    const made = make("button", { type: "button", dataset: { result: step.result ?? "" }, onclick: () => show(walk, step.key) },
      make("span", { className: "sign" }, termed("result", step.result ?? "open")), make("span", {}, `${step.title}${values ? ` · ${values}` : ""}`));
    if (step.key === current) made.setAttribute("aria-current", "step");
    return make("li", {}, made);
  }));
  return make("details", { className: "sheet", open: !walk.next }, make("summary", {}, word("check.all_steps")), list);
}
