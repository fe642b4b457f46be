// The equipment: what there is and when it is due, how its leak and compliance go, and its log.
import { ask } from "./ask.js";
import { button, called, chooseMachine, findingBox, make, momentOf, onMachine, machineName, problemBox, termed } from "./check-parts.js";
import { askForm } from "./forms.js";
import { word } from "./given.js";
import { lane } from "./lane.js";
import { textOf } from "./measures.js";
import { notice } from "./say.js";

const NUMBERS = ["leak_ml_min", "compliance_ml_cmh2o"];
const DAYS = 30;
let box;
let list;
let fields = [];
let machines = [];

/** listing: asks the server and returns {machines, fields}. */
export function startMachines(element, listing) {
  [box, list] = [element, listing];
  load();
  onMachine(show);
  document.addEventListener("lungeline:check-kept", load);
  document.addEventListener("lungeline:part", ({ detail }) => detail === "machines" && show());
}

async function load() {
  try {
    ({ machines, fields } = await list());
    show();
  } catch (error) {
    box.replaceChildren(problemBox(error), button(word("check.again"), load));
  }
}

function show() {
  if (box.hidden) return; // drawings need a width
  const now = machines.find((it) => it.name === machineName());
  box.replaceChildren(make("section", { className: "sheet" }, make("h2", {}, word("check.machines")),
    machines.length ? overview() : make("p", { className: "empty" }, word("check.none")),
    make("p", { className: "row" }, button(`+ ${word("check.add")}`, add, { main: !machines.length }))));
  if (now) box.append(one(now));
}

function overview() {
  const row = (it) => {
    const { trend, values } = it.courses.leak_ml_min;
    const last = it.tests.at(-1);
    const worst = it.said[0];
    return make("tr", {}, make("td", {}, make("button", { type: "button", onclick: () => chooseMachine(it.name), ariaPressed: String(it.name === machineName()) }, it.name)),
      make("td", {}, termed("sort", it.sort)),
      make("td", {}, last ? `${textOf("leak_ml_min", values.at(-1))} · ${momentOf(last.at)}` : word("check.no_test")),
      make("td", {}, last ? termed("trend", trend.course) : "–"), make("td", {}, worst ? `${termed("rank", worst.severity)} ${worst.says}` : "–"));
  };
  return make("div", { className: "wide-table" }, make("table", { className: "cards" }, make("thead", {}, make("tr", {}, ...["name", "sort", "last_test", "trend", "due"].map((key) => make("th", { scope: "col" }, word(`check.${key}`))))), make("tbody", {}, ...machines.map(row))));
}

// --- one machine -------------------------------------------------------------------------------------------------

function one(it) {
  const facts = fields.filter(({ key }) => key !== "name" && it[key] !== null && it[key] !== "")
    .flatMap(({ key, kind }) => [make("dt", {}, called(key)), make("dd", {}, kind === "number" ? textOf(key, it[key]) : key === "sort" ? termed("sort", it[key]) : it[key])]);
  const drawn = make("div", {});
  const logged = make("div", {});
  const sheet = make("section", { className: "sheet machine" }, make("h3", {}, it.name), make("dl", {}, ...facts), ...it.said.map(findingBox), drawn,
    make("p", { className: "row" }, button(word("check.show_log"), () => showLog(it, logged)), make("a", { className: "button theatre", href: `/check/${it.id}/log.pdf`, target: "_blank" }, word("check.print_log")),
      button(word("check.change"), () => change(it)), button(word("check.retire"), () => retire(it))), logged);
  // drawn once it stands in the page and has a width
  queueMicrotask(() => NUMBERS.forEach((name) => drawCourse(drawn, it, name)));
  return sheet;
}

function drawCourse(drawn, it, name) {
  const { at_days: at, values, low, high, trend, line } = it.courses[name];
  if (!values.length) return;
  const slope = trend.checks_number > 1 ? `, ${trend.slope_per_day >= 0 ? "+" : ""}${textOf(name, trend.slope_per_day * DAYS)} ${word("check.in_30_days")}` : "";
  const told = `${termed("trend", trend.course)} (${trend.checks_number}${slope})`;
  if (values.length > 1) {
    const made = lane(drawn, { name, label: `${called(name === "leak_ml_min" ? "leak_at_30_cmh2o_ml_min" : name)}; ${word("check.shaded_95")}`, height: 120, axis: true, last: word("check.days"), dots: true });
    const clear = ["getting worse", "getting better"].includes(trend.course);
    const set = name === "leak_ml_min" && it.limits ? [it.limits.pass_ml_min, it.limits.fail_ml_min <= 1.5 * Math.max(...high) ? it.limits.fail_ml_min : null] : [];
    made.draw({ at, trace: values, low, high, set, live: clear ? line : null });
    made.tell(values.at(-1), told);
  }
  drawn.append(make("p", { className: "quiet" }, `${called(name)}: ${told}`));
}

async function showLog(it, logged) {
  try {
    writeLog(it, logged, await ask(`/api/check/machines/${it.id}/log`));
  } catch (error) {
    logged.replaceChildren(problemBox(error));
  }
}

function writeLog(it, logged, log) {
  const strike = (row) => make("button", { type: "button", onclick: async () => {
    const given = await askForm(document.getElementById("form"), `${word("check.strike")} ${row.seq}`, [{ key: "reason", label: word("check.reason"), kind: "paragraph", required: true }]);
    if (given) change_(`/api/check/machines/${it.id}/log/${row.seq}/strike`, given);
  } }, word("check.strike"));
  const rows = log.rows.map((row) => make("tr", { className: row.struck ? "struck" : "" }, make("td", { className: "number" }, String(row.seq)), make("td", {}, momentOf(row.at)), make("td", {}, termed("what", row.what)),
    make("td", {}, row.verdict ? termed("verdict", row.verdict) : ""), make("td", {}, row.struck ? `${row.says} (${word("check.struck")}: ${row.struck}, ${row.struck_by})` : row.says), make("td", {}, row.by),
    make("td", {}, row.verdict && !row.struck ? strike(row) : "")));
  const proof = `${termed("proof", log.proof.outcome)} (${log.proof.count})`;
  logged.replaceChildren(make("h3", {}, word("check.log")), make("p", {}, proof), make("div", { className: "wide-table" }, make("table", { className: "cards" }, make("tbody", {}, ...rows))),
    button(word("check.sign"), async () => {
      const asked = [{ key: "role", label: word("check.role"), kind: "text", required: true }, { key: "pin", label: word("record.pin"), kind: "secret" }];
      const given = await askForm(document.getElementById("form"), word("check.sign"), asked, { role: word("check.role_usual") });
      if (given) change_(`/api/check/machines/${it.id}/log/signature`, given);
    }));

  async function change_(path, body) {
    try {
      writeLog(it, logged, await ask(path, { method: "POST", body }));
    } catch (error) {
      notice(error.message, { kind: "problem", ms: 0 });
    }
  }
}

// --- the register ------------------------------------------------------------------------------------------------

const forms = (without = []) => fields.filter(({ key }) => !without.includes(key)).map((field) => ({ ...field, label: `${called(field.key)}${field.key.endsWith("_on") ? " (2027-03-01)" : ""}`, choice_words: field.choices?.map((choice) => termed("sort", choice)), required: ["sort", "name"].includes(field.key) }));
const dialog = () => document.getElementById("form");

async function add() {
  const given = await askForm(dialog(), word("check.add"), forms(), { sort: "circle" });
  if (given) await done("/api/check/machines", given, () => chooseMachine(given.name));
}

async function change(it) {
  const there = Object.fromEntries(fields.filter(({ key }) => it[key] !== null).map(({ key }) => [key, it[key]]));
  const given = await askForm(dialog(), `${word("check.change")}: ${it.name}`, forms(["name"]), there);
  if (!given) return;
  const emptied = Object.fromEntries(fields.filter(({ key }) => key !== "name" && !(key in given)).map(({ key, kind }) => [key, kind === "number" ? null : ""]));
  await done(`/api/check/machines/${it.id}/changes`, { ...emptied, ...given });
}

async function retire(it) {
  const given = await askForm(dialog(), `${word("check.retire")}: ${it.name}`, [{ key: "reason", label: word("check.reason"), kind: "text", required: true }], {}, { button: word("check.retire") });
  if (given) await done(`/api/check/machines/${it.id}/retirement`, given, () => chooseMachine(""));
}

async function done(path, body, after = () => {}) {
  try {
    await ask(path, { method: "POST", body });
    after();
    await load();
  } catch (error) {
    notice(error.message, { kind: "problem", ms: 0 });
  }
}
