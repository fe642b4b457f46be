// Who signed what, what proves it, and signing itself: what is missing is seen before anybody signs.
import { askForm } from "./forms.js";
import { given, word } from "./given.js";
import { button, day, make } from "./record-parts.js";
import { finding } from "./record-gaps.js";

const MEANINGS = ["signed", "countersigned", "co-signed", "witnessed"];
const HASH_SHOWN = 16;

/** Ask for a signature. send: called with {signer, role, meaning, because, pin}. */
export function askSignature(dialog, record, meaning, send) {
  const stops = record.missing_said.some((said) => said.severity === "stop");
  const fields = [
    { key: "signer", label: word("record.signer"), kind: "text", required: true },
    { key: "role", label: word("record.role"), kind: "text", required: true },
    { key: "meaning", label: word("record.meaning"), kind: "choice", required: true, choices: MEANINGS, choice_words: MEANINGS.map((it) => word(`record.meaning_${it}`)) },
    { key: "pin", label: word("record.pin"), kind: "secret" },
    ...(stops ? [{ key: "because", label: word("record.because"), kind: "paragraph" }] : []),
  ];
  const head = make("p", { className: "wide", textContent: `${word("record.signs_entries")} 1–${record.entries}.` });
  const gaps = record.missing_said.length ? record.missing_said.map((said) => finding(said)) : [make("p", { textContent: word("record.nothing_missing") })];
  const above = [make("div", { className: "wide" }, head, ...gaps)];
  return askForm(dialog, word("record.sign"), fields, { signer: given.author, role: word("record.role_usual"), meaning }, { button: word("record.sign"), above, send });
}

/** Show what proves the record, who signed which version, and what came later. */
export function showProof(record, { add, seeAsSigned }) {
  const { outcome, reason, at_seq: at, proven_count: proven, count } = record.proof;
  const severity = { changed: "stop", cut: "stop", unverifiable: "caution" }[outcome] ?? "";
  const place = at === null ? "" : ` ${word("record.proof_at")} ${at}.`;
  const why = reason ? ` ${word(`record.reason_${reason.replaceAll(" ", "_")}`)}.` : "";
  const proof = make("div", { className: "finding", id: "verdict", dataset: { severity, outcome } },
    make("strong", { className: "rank", textContent: word(`record.outcome_${outcome}`) }),
    make("span", {}, `${word(`record.proof_${outcome}`)}${place}${why} `, make("span", { className: "quiet", textContent: `${word("record.proven")} ${proven} / ${count}` })));
  document.getElementById("proof").replaceChildren(proof);
  const versions = record.versions.map((version) => shown(version, seeAsSigned));
  const none = seeAsSigned ? [make("p", { textContent: word(record.mark ? "record.never_signed" : "record.unsigned") })] : [];
  const more = record.versions.length && add ? [button(word("record.addendum"), () => add("addendum"))] : [];
  document.getElementById("signatures").replaceChildren(...(versions.length ? versions : none), ...more);
}

function shown(version, seeAsSigned) {
  const signatures = version.signatures.map((it) =>
    make("li", { textContent: `${word(`record.meaning_${it.meaning}`)}: ${it.signer}, ${it.role}, ${day(it.time)}` }));
  const later = version.added.length ? `${word("record.added_since")} ${version.added.join(", ")}` : word("record.nothing_since");
  const see = seeAsSigned ? [button(word("record.see_signed"), () => seeAsSigned(version.count), { name: `${word("record.see_signed")} 1–${version.count}` })] : [];
  return make("div", { className: "version" },
    make("p", {}, make("strong", { textContent: `${word("record.entries_to")} ${version.count}` }), ` · ${version.hash.slice(0, HASH_SHOWN)}…`),
    make("ul", {}, ...signatures), make("p", { className: "quiet", textContent: later }), ...see);
}
