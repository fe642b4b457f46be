// What was noticed by watching quietly: each with what it rests on, seen to or not so; a badge and a sound until looked at.
import { ask, newest } from "./ask.js";
import { word } from "./given.js";
import { make, put } from "./make.js";
import { textOf } from "./measures.js";
import { alsoNoticed } from "./watch-clock.js";
import { note } from "./watch-notes.js";
import { clockOf, finding, isOpen, nameOf, onOpen } from "./watch-why.js";

const SHAPES = { high: "▲▲▲", medium: "▲▲", low: "▲" };
const box = document.getElementById("noticed");
const badge = document.getElementById("why-badge");

export function wireNoticed({ caseId }) {
  const kept = `lungeline-seen-${caseId}`;
  const seen = new Set(JSON.parse(sessionStorage.getItem(kept) ?? "[]"));
  let told = { threats: [], findings: [] };
  const mark = (it) => `${it.code}@${it.at}`;
  const look = newest(() => ask(`/api/cases/${caseId}/findings`), (answer) => {
    told = { ...answer, findings: answer.findings.map(worded) };
    show();
  });

  function show() {
    if (isOpen()) {
      told.findings.forEach((it) => seen.add(mark(it)));
      sessionStorage.setItem(kept, JSON.stringify([...seen]));
    }
    const unseen = told.findings.filter((it) => it.priority !== "low" && !seen.has(mark(it)));
    badge.hidden = !unseen.length;
    badge.textContent = unseen.length ? `${SHAPES.medium} ${unseen.length} ${word("why.new")}` : "";
    alsoNoticed({ threats: told.threats, priority: unseen.length ? "medium" : "" });
    put(box, told, () => told.findings.length ? [make("h2", { textContent: word("why.findings") }), ...told.findings.map(one), make("p", { className: "quiet", textContent: word("why.typed_stands") })] : []);
  }

  /** What moved is told by the readings it rests on, in this person's units. */
  function worded(it) {
    if (!it.code.startsWith("watch_moved") || !it.rests.length) return it;
    const name = it.code.replace("watch_", "why.");
    return { ...it, says: word(name), do: word(`${name}_do`) };
  }

  function one(it) {
    const deeds = [["followed", "seen_to"], ["declined", "not_so"]].map(([done, name]) => {
      const button = make("button", { type: "button", className: "theatre", textContent: word(`why.${name}`) });
      button.onclick = () => note("advice", { code: it.code, done, severity: it.severity, reason: it.says }, `${word(`why.${name}`)}: ${it.says}`);
      return button;
    });
    const rests = it.rests.map((on) => {
      const was = on.before === null ? "" : ` (${word("why.was")} ${textOf(on.key, on.before)}, ${clockOf(on.before_at)})`;
      return make("li", { textContent: `${nameOf(on.key)} ${textOf(on.key, on.value)}, ${clockOf(on.at)}${was}` });
    });
    const hits = it.right + it.wrong ? [make("p", { className: "quiet", textContent: `${word("why.hits")}: ${it.right}, ${it.wrong}` })] : [];
    const more = rests.length ? [make("p", { textContent: `${word("why.rests_on")}:` }), make("ul", {}, ...rests)] : [];
    return finding(it, `${SHAPES[it.priority]} ${word(`why.priority_${it.priority}`)}, ${word("why.since")} ${clockOf(it.at)}`, ...more, ...hits, make("p", { className: "row" }, ...deeds));
  }

  onOpen(show);
  return { told: look };
}
