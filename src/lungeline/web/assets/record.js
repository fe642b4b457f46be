// The record of a case: every entry with what became of it, forms to add and correct, signing.
import { ask } from "./ask.js";
import { askForm } from "./forms.js";
import { given, word } from "./given.js";
import { enter } from "./queue.js";
import { notice } from "./say.js";
import { follow } from "./socket.js";

const caseId = document.body.dataset.case;
const dialog = document.getElementById("form");
const list = document.getElementById("entries");
const filter = document.getElementById("filter");
const MARKS = ["late", "estimated", "artefact", "corrected", "struck"];
let record = null;
let kinds = {};

const make = (tag, attributes = {}, ...inside) => {
  const element = Object.assign(document.createElement(tag), attributes);
  element.append(...inside);
  return element;
};
const clock = (text) => text.slice(11, 16);
const problem = (error) => notice(error.message, { kind: "problem", ms: 0 });

async function load() {
  try {
    if (!Object.keys(kinds).length) kinds = (await ask("/api/cases/kinds")).kinds;
    record = await ask(`/api/cases/${caseId}/record`);
  } catch (error) {
    list.replaceChildren(make("p", { className: "problem", textContent: `${word("frame.needs_connection")}: ${error.message}` }));
    return;
  }
  offerKinds();
  show();
  showMissing();
  showSignatures();
}

function offerKinds() {
  const present = new Set(record.items.map((item) => item.kind));
  const chosen = filter.value;
  const options = [...present].map((kind) => make("option", { value: kind, textContent: kinds[kind]?.label ?? kind }));
  filter.replaceChildren(make("option", { value: "", textContent: word("record.all") }), ...options);
  filter.value = present.has(chosen) ? chosen : "";
}

function show() {
  const items = record.items.filter((item) => !filter.value || item.kind === filter.value);
  list.replaceChildren(...items.slice().reverse().map(row));
  if (!items.length) list.append(make("p", { className: "empty", textContent: word("record.no_entries") }));
}

function row(item) {
  const marks = MARKS.filter((mark) => item[mark] || item.body[mark]);
  const badges = marks.map((mark) => {
    const badge = make("span", { className: "badge", textContent: word(`record.mark_${mark}`) });
    badge.dataset.mark = mark;
    return badge;
  });
  const what = make("span", { className: "what" }, make("b", { textContent: `${kinds[item.kind]?.label ?? item.kind}: ` }), item.text);
  const who = make("span", { className: "who", textContent: `${item.seq} · ${item.author}${history(item)}` });
  const element = make("div", { className: "entry" }, make("span", { className: "when", textContent: clock(item.event_time) }), make("span", {}, what, ...badges), who);
  element.dataset.struck = item.struck;
  element.dataset.seq = item.seq;
  if (item.kind !== "signature" && item.kind !== "clock") element.append(make("div", { className: "buttons" }, ...buttons(item)));
  return element;
}

function history(item) {
  const first = item.corrected ? ` · ${word("record.first")}: ${item.first_text}` : "";
  return first + item.history.map((it) => ` · ${word(`record.${it.kind === "strike" ? "struck_by" : "corrected_by"}`)} ${it.author}: ${it.reason}`).join("");
}

function buttons(item) {
  const button = (key, act) => {
    const made = make("button", { type: "button", textContent: word(key) });
    made.setAttribute("aria-label", `${word(key)} ${item.seq}`);
    made.onclick = act;
    return made;
  };
  const last = item.history.at(-1);
  if (item.struck) return last?.kind === "strike" ? [button("record.unstrike", () => strike(last.seq))] : [];
  const found = kinds[item.kind] ? [button("record.correct", () => correct(item))] : [];
  return item.kind === "opening" ? found : [...found, button("record.strike", () => strike(item.seq))];
}

const reason = { key: "reason", label: word("record.reason"), kind: "text", required: true };

async function correct(item) {
  const body = await askForm(dialog, `${word("record.correct")}: ${kinds[item.kind].label}`, kinds[item.kind].fields, item.body, { extra: [reason] });
  if (!body) return;
  const { reason: why, ...right } = body;
  const leaveOut = Object.keys(item.body).filter((key) => !(key in right));
  const changes = Object.fromEntries(Object.entries(right).filter(([key, value]) => item.body[key] !== value));
  await send(`/api/cases/${caseId}/entries/${item.seq}/correction`, { reason: why, changes, leave_out: leaveOut });
}

async function strike(seq) {
  const body = await askForm(dialog, `${word("record.strike")} ${seq}`, [reason], {}, { button: word("record.strike") });
  if (body) await send(`/api/cases/${caseId}/entries/${seq}/strike`, body);
}

async function send(path, body) {
  try {
    await ask(path, { method: "POST", body });
    notice(word("frame.saved"));
    await load();
  } catch (error) {
    problem(error);
  }
}

async function add(kind) {
  const body = await askForm(dialog, kinds[kind].label, kinds[kind].fields);
  if (body) await enter(caseId, kind, body, { onSaved: load });
}

document.getElementById("add").onclick = async () => {
  const field = { key: "kind", label: word("record.kind"), kind: "choice", required: true, choices: Object.keys(kinds).filter((kind) => kind !== "opening") };
  const body = await askForm(dialog, word("record.add"), [field], {}, { button: word("record.next") });
  if (body) add(body.kind);
};

function showMissing() {
  const box = document.getElementById("missing");
  box.replaceChildren(...record.missing_said.map(gap));
  if (!record.missing_said.length) box.append(make("p", { textContent: box.dataset.empty }));
}

/** A gap, with the form that fills it. */
function gap(finding) {
  const element = make("div", { className: "finding" }, make("span", { className: "rank", textContent: word(`record.rank_${finding.severity}`) }),
    make("span", {}, `${finding.says} `, make("span", { className: "quiet", textContent: finding.do })));
  element.dataset.severity = finding.severity;
  const kind = finding.about.split(".")[0];
  if (kinds[kind]) {
    const button = make("button", { type: "button", textContent: word("record.fill") });
    button.setAttribute("aria-label", `${word("record.fill")}: ${finding.says}`);
    button.onclick = () => (kind === "opening" ? correct(record.items.find((item) => item.kind === "opening")) : add(kind));
    element.append(button);
  }
  return element;
}

function showSignatures() {
  const rows = record.versions.flatMap((version) =>
    version.signatures.map((it) => `${it.meaning}: ${it.signer}, ${it.role}, ${it.time.slice(0, 16).replace("T", " ")} · 1–${version.count} · ${version.hash.slice(0, 16)}…`));
  document.getElementById("signatures").replaceChildren(...rows.map((text) => make("li", { textContent: text })));
}

document.getElementById("sign")?.addEventListener("click", async () => {
  const gaps = record.missing_said.filter((finding) => finding.severity === "stop");
  const fields = [
    { key: "role", label: word("record.role"), kind: "text", required: true },
    { key: "meaning", label: word("record.meaning"), kind: "choice", required: true, choices: ["signed", "countersigned", "co-signed", "witnessed"] },
    ...(gaps.length ? [{ key: "because", label: `${word("record.because")} (${gaps.map((it) => it.says).join(" ")})`, kind: "paragraph" }] : []),
    { key: "pin", label: "PIN", kind: "text" },
  ];
  const body = await askForm(dialog, `${word("record.sign")} · ${given.author}`, fields, { meaning: "signed", role: "anaesthetist" }, { button: word("record.sign") });
  if (body) await send(`/api/cases/${caseId}/sign`, body);
});
new MutationObserver(() => dialog.querySelectorAll("input[name=pin]").forEach((input) => (input.type = "password"))).observe(dialog, { childList: true, subtree: true });

filter.onchange = show;
follow(caseId, (lastSeq) => {
  if (!record || lastSeq > record.entries) load();
});
load();
