// Why measured differs from expected: causes in words, the next test, and what it showed, which ranks them anew.
import { ask, newest } from "./ask.js";
import { word } from "./given.js";
import { make } from "./make.js";
import { textOf } from "./measures.js";
import { strike } from "./queue.js";
import { askAndNote, askNumber, kinds } from "./watch-forms.js";
import { note } from "./watch-notes.js";
import { clockOf, failure, filled, finding, nameOf, working } from "./watch-why.js";

const FIRST = 3; // causes told at once; the rest unfolds
const RANKS = { likely: "caution", possible: "advice" };
const NOTHING = "no_fault"; // a cause like the others, but nothing to look up for
const MOVES = new Set(["reading", "gases", "advice", "setting", "strike", "correction"]);
const box = document.getElementById("causes-box");
const button = document.getElementById("causes-ask");
const typedIn = (kind) => new Map(kinds[kind].fields.filter((field) => field.kind === "number").map((field) => [field.key, field]));

export function wireCauses({ caseId, assumed }) {
  let wellUntil = "";
  let asked = false;
  const look = newest(
    async () => {
      const done = working(box);
      try {
        return await ask(`/api/cases/${caseId}/causes`, { method: "POST", body: { assumed: assumed(), well_until: wellUntil } });
      } finally {
        done();
      }
    },
    show,
    (error) => box.replaceChildren(failure(error)),
  );
  button.onclick = () => {
    asked = true;
    wellUntil = "";
    look(true);
  };
  document.addEventListener("lungeline:saved", ({ detail: { item } }) => asked && (MOVES.has(item.kind) || !item.kind) && look(true));

  function show(told) {
    button.textContent = word("why.ask_again");
    document.getElementById("causes-first").hidden = true;
    const causes = told.lines.map(line);
    const rest = [...causes.slice(FIRST), ...named("not_excluded", told.not_excluded), ...named("unlikely", told.unlikely)];
    const more = rest.length ? [make("details", {}, make("summary", { textContent: [["not_excluded", told.not_excluded], ["unlikely", told.unlikely]].filter(([, some]) => some.length).map(([name, some]) => `${some.length} ${word(`why.${name}`)}`).join(", ") || "…" }), ...rest)] : [];
    box.replaceChildren(
      make("p", { className: "quiet", textContent: comparison(told) }), wellChoice(told),
      ...told.threats.map((it) => finding(it, "▲▲▲")), ...told.notes.map((it) => finding(it)), ...helpful(told),
      ...causes.slice(0, FIRST), ...more, test(told), ...answered(told), make("p", { className: "quiet", textContent: word("why.of_those_known") }),
    );
  }

  const comparison = (told) => filled(`why.compared${!told.well_until ? "_none" : told.unlike || told.chosen ? "" : "_like"}`, { read: clockOf(told.read_at), well: told.well_until && clockOf(told.well_until) });

  function wellChoice(told) {
    if (told.may_be_well_until.length < 2) return "";
    const select = make("select", {}, ...told.may_be_well_until.map((at) => make("option", { value: at, textContent: clockOf(at), selected: at === told.well_until })));
    select.onchange = () => {
      wellUntil = select.value;
      look(true);
    };
    return make("label", { className: "row" }, word("why.well_until"), select);
  }

  function line({ causes, splits }) {
    const titles = causes.flatMap((it, place) => [...(place ? [` ${word("why.or")} `] : []), make("strong", { textContent: it.title })]);
    const deeds = [...new Set(causes.map((it) => it.do))].map((text) => make("p", {}, make("b", { textContent: `${word("why.first")}: ` }), text));
    const told = new Set();
    const rows = causes.flatMap((it) => [["for", it.for], ["against", it.against]].flatMap(([side, some]) => some.map((each) => [side, each])))
      .filter(([side, each]) => !told.has(side + each.key + each.kind) && told.add(side + each.key + each.kind))
      .map(([side, each]) => make("li", { textContent: `${side === "for" ? "+" : "−"} ${word(`why.speaks_${side}`)}: ${evidence(each)}` }));
    const alike = causes.length < 2 ? [] : [make("p", { textContent: `${word("why.alike")} ${splits ? `${word("why.splits")}: ${word(`why.t_${splits.code}`)}.` : ""}` })];
    const quiet = causes[0].code === NOTHING;
    const mark = quiet ? "" : causes[0].word === "likely" ? "▲▲ " : "▲ ";
    return make("div", { className: "finding cause", dataset: { severity: quiet ? "note" : RANKS[causes[0].word], codes: causes.map((it) => it.code).join(" ") } }, make("span", { className: "rank", textContent: `${mark}${word(`why.${causes[0].word}`)}` }), make("div", {}, ...titles, ...deeds, make("ul", { className: "evidence" }, ...rows), ...alike));
  }

  function evidence(it) {
    const name = it.key.split("@")[0];
    const none = (value) => (Math.abs(value) < Math.abs(it.measured) / 50 ? 0 : value); // no more than readings wander
    const read = (value) => `${it.kind === "level" || value < 0 ? "" : "+"}${textOf(name, value)}`;
    return `${nameOf(it.key)} ${word(`why.kind_${it.kind}`)} ${read(it.measured)}; ${it.predicted === null ? word("why.would_not_tell") : `${word("why.would_be")} ${read(none(it.predicted))}`}`;
  }

  const named = (name, causes) => causes.length ? [make("p", {}, make("b", { textContent: `${word(`why.${name}`)}: ` }), causes.map((it) => it.title).join("; "))] : [];

  function helpful({ enough, helpful: key }) {
    const kind = ["reading", "gases"].find((each) => typedIn(each).has(key));
    if (enough || !kind) return [];
    const enter = make("button", { type: "button", className: "theatre", textContent: word("why.enter_it") });
    enter.onclick = () => askAndNote(kind, nameOf(key), kind === "gases" ? { sample: "arterial" } : {}, kind === "gases" ? undefined : [key]);
    return [make("p", { className: "row" }, make("strong", { textContent: `${word("why.most")}: ${nameOf(key)}` }), enter)];
  }

  function test({ test: it, oxygenation_safe: safe }) {
    const guard = make("p", { className: "quiet", textContent: word(safe ? "why.oxygen_safe" : "why.oxygen_not_safe") });
    if (!it) return make("div", { className: "next-test" }, make("h3", { textContent: word("why.next_test") }), make("p", { textContent: word("why.no_test") }), guard);
    const answers = it.answers.map((answer) => {
      const found = make("button", { type: "button", className: "theatre", textContent: word(`why.a_${answer}`) });
      found.onclick = () => say(it, `${it.code}=${answer}`, word(`why.a_${answer}`));
      return found;
    });
    const read = make("button", { type: "button", className: "theatre main", textContent: word("why.measured_it") });
    read.onclick = () => enterRead(it);
    const later = make("button", { type: "button", className: "theatre", textContent: word("why.not_now") });
    later.onclick = () => say(it, it.code, word("why.not_now"), "later");
    const how = `${word("why.minutes_it_takes")} ${textOf("minutes_min", it.minutes)}. ${word(it.interrupts ? "why.stops_breathing" : "why.goes_on")}`;
    return make("div", { className: "next-test", dataset: { code: it.code } }, make("h3", { textContent: `${word("why.next_test")}: ${word(`why.t_${it.code}`)}` }), make("p", { textContent: it.do }), make("p", { className: "quiet", textContent: how }),
      ...(answers.length ? [make("p", { textContent: word("why.found_what") })] : []), make("div", { className: "row" }, ...(answers.length ? answers : [read]), later), guard);
  }

  const say = (it, about, found, done = "followed") => note("advice", { code: `test_${it.code}`, done, severity: "advice", about, reason: `${word(`why.t_${it.code}`)}: ${found}` }, `${word(`why.t_${it.code}`)}: ${found}`);

  /** A test that measures: its number is a reading, and where a row has no place for it, it stands with the advice. */
  async function enterRead(it) {
    const title = word(`why.t_${it.code}`);
    const kind = ["reading", "gases"].find((each) => it.reads.every((key) => typedIn(each).has(key)));
    if (kind) {
      const entered = await askAndNote(kind, title, kind === "gases" ? { sample: "arterial" } : {}, kind === "gases" ? undefined : it.reads);
      if (entered) say(it, `${it.code}=read`, word("why.a_read"));
      return;
    }
    const [key] = it.reads;
    const value = await askNumber(title, { key, label: nameOf(key), low: -30, high: 150 });
    if (value !== null) say(it, `${key}=${value}`, `${nameOf(key)} ${textOf(key, value)}`);
  }

  function answered({ answers }) {
    if (!answers.length) return [];
    const rows = answers.map((it) => {
      const back = make("button", { type: "button", textContent: word("why.take_back") });
      const test = word(`why.t_${it.test}`);
      const name = test.startsWith("why.") ? nameOf(it.test) : test;
      const found = !it.found ? word("why.put_off") : Number.isNaN(Number(it.found)) ? word(`why.a_${it.found}`) : textOf(it.test, Number(it.found));
      back.setAttribute("aria-label", `${word("why.take_back")}: ${name}`);
      back.onclick = () => strike(caseId, it.seq, word("why.take_back"));
      return make("li", { className: "row" }, make("span", { textContent: `${name}: ${found}` }), back);
    });
    return [make("h3", { textContent: word("why.answered") }), make("ul", { className: "answered" }, ...rows)];
  }

  return { told() {} };
}
