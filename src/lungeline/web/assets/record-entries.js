// Every entry of a case, newest first: what it says, what became of it, and how it is put right.
import { word } from "./given.js";
import { button, clock, day, make } from "./record-parts.js";

const MARKS = ["late", "estimated", "artefact", "corrected", "struck"];
const SIGNS = { late: "◷", estimated: "≈", artefact: "≠", corrected: "✎", struck: "✕" };
const list = document.getElementById("entries");
const byKind = document.getElementById("filter");
const byMark = document.getElementById("filter-mark");
const count = document.getElementById("entries-count");
let items = [];
let deeds = {};
const open = new Set();

const has = (item, mark) => Boolean(item[mark] || item.body[mark]);

/** Show the entries. acts: {correct, strike, may} with what may be done to an item. */
export function showEntries(record, acts) {
  items = record.items;
  deeds = acts;
  offer(byKind, word("record.all"), [...new Map(items.map((item) => [item.kind, item.kind_said]))]);
  const marks = MARKS.filter((mark) => items.some((item) => has(item, mark)));
  offer(byMark, word("record.all_marks"), marks.map((mark) => [mark, `${SIGNS[mark]} ${word(`record.mark_${mark}`)}`]));
  show();
}

function offer(select, all, options) {
  const chosen = select.value;
  select.replaceChildren(...[["", all], ...options].map(([value, textContent]) => make("option", { value, textContent })));
  select.value = options.some(([value]) => value === chosen) ? chosen : "";
}

function show() {
  const shown = items.filter((item) => (!byKind.value || item.kind === byKind.value) && (!byMark.value || has(item, byMark.value)));
  const back = focused();
  list.replaceChildren(...shown.reverse().map(row));
  back();
  if (!shown.length) list.append(make("p", { className: "empty", textContent: word("record.no_entries") }));
  count.textContent = `${shown.length} / ${items.length}`;
}

/** Remember what has the focus in the list; returns what gives it back once the list is made anew. */
function focused() {
  const had = document.activeElement;
  const entry = list.contains(had) && had.closest(".entry");
  if (!entry) return () => {};
  const place = [...entry.querySelectorAll("summary, button")].indexOf(had);
  return () => document.getElementById(entry.id)?.querySelectorAll("summary, button")[place]?.focus();
}

function row(item) {
  const badges = MARKS.filter((mark) => has(item, mark)).map((mark) =>
    make("span", { className: "badge", textContent: `${SIGNS[mark]} ${word(`record.mark_${mark}`)}`, dataset: { mark } }));
  const summary = make("summary", {},
    make("span", { className: "when", textContent: clock(item.event_time) }),
    make("span", { className: "what" }, make("b", { textContent: item.kind_said }), " ", make("span", { className: "text", textContent: item.text })),
    make("span", { className: "badges" }, ...badges));
  const element = make("details", { className: "entry", id: `entry-${item.seq}`, dataset: { struck: item.struck, seq: item.seq } }, summary);
  element.ontoggle = () => {
    if (element.open) fill(element, item);
    open[element.open ? "add" : "delete"](item.seq);
  };
  if (open.has(item.seq)) {
    fill(element, item);
    element.open = true;
  }
  return element;
}

/** What an open entry shows: its fields, what it said at first, who changed it and why, and what can be done. */
function fill(element, item) {
  if (element.children.length > 1) return;
  const pair = (name, text) => [make("dt", { textContent: name }), make("dd", { textContent: text })];
  const told = [
    [word("record.number"), String(item.seq)],
    [word("record.happened"), day(item.event_time)],
    [word("record.entered"), `${day(item.entry_time)}, ${item.author}, ${item.device}`],
    ...(item.corrected ? [[word("record.first"), item.first_text]] : []),
  ];
  element.append(make("dl", {}, ...item.fields.flatMap(([name, text]) => pair(name, text)), ...told.flatMap(([name, text]) => pair(name, text))));
  if (item.history.length) element.append(make("ul", { className: "history" }, ...item.history.map(amended)));
  element.append(make("p", { className: "row" }, ...buttons(item)));
}

const amended = (it) =>
  make("li", { textContent: `${it.seq}: ${word(it.kind === "strike" ? "record.struck_by" : "record.corrected_by")} ${it.author}: ${it.reason}` });

function buttons(item) {
  const made = (key, act) => button(word(key), act, { name: `${word(key)}: ${item.kind_said} ${clock(item.event_time)}`, className: "theatre" });
  const last = item.history.filter((it) => it.kind === "strike").at(-1);
  const { correct, strike, may } = deeds;
  if (!may(item)) return [];
  if (item.struck) return last ? [made("record.unstrike", () => strike(last.seq, "record.unstrike"))] : [];
  const strikes = item.kind === "opening" ? [] : [made("record.strike", () => strike(item.seq, "record.strike"))];
  return [...(deeds.hasForm(item.kind) ? [made("record.correct", () => correct(item))] : []), ...strikes];
}

byKind.onchange = byMark.onchange = show;
