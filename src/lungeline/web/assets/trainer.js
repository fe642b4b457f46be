// The trainer's page: the animal as it is, what counts, and the trainer's hand on it.
import { word } from "./given.js";
import { make, put } from "./make.js";
import { textOf } from "./measures.js";
import { clockText } from "./moments.js";
import { askOf, followRehearsal, id } from "./rehearsal.js";
import { notice } from "./say.js";

const $ = (name) => document.getElementById(name);
const hand = (what, given) => askOf("/hands", { do: what, with: given });
const small = (text, deed) => Object.assign(make("button", { type: "button", textContent: text }), { onclick: deed });
$("address").textContent = `${location.origin}/rehearse/${id}/`;

$("inject").onsubmit = (event) => {
  event.preventDefault();
  const given = Object.fromEntries(new FormData(event.target));
  hand("fault", { code: given.code, severity: Number(given.severity), over_min: Number(given.over_min) });
};
$("inject").elements.severity.oninput = (event) => ($("severity").textContent = `${Math.round(event.target.value * 100)} %`);
$("say").onsubmit = async (event) => {
  event.preventDefault();
  const form = event.target;
  const done = await hand(event.submitter?.value ?? "note", { text: new FormData(form).get("text") });
  if (!done) return;
  form.reset();
  notice(word("rehearse.noted"), { ms: 3000 });
};
document.querySelectorAll("[data-behaviour]").forEach((button) => {
  button.setAttribute("aria-pressed", "false");
  button.onclick = async () => {
    const { behaviour, rating } = button.dataset;
    if (!(await hand("mark", { behaviour, rating: Number(rating) }))) return;
    document.querySelectorAll(`[data-behaviour="${behaviour}"]`).forEach((it) => it.setAttribute("aria-pressed", String(it === button)));
  };
});

const titles = new Map([...$("inject").elements.code.options].map((option) => [option.value, option.textContent]));
const MET = (it) => (it.met ? "yes" : it.how === "missed" ? "open" : "no");

function showHidden(hidden, instruments) {
  put($("truth"), hidden.truth, () => Object.entries(hidden.truth).flatMap(([key, value]) => [make("dt", { textContent: word(`rehearse.lane_${key}`) }), make("dd", { textContent: textOf(key, value) })]));
  put($("critical"), hidden.critical, () => hidden.critical.map((it) => make("li", { dataset: { met: MET(it) } }, `${it.says}${it.at_s === null ? "" : ` · ${clockText(it.at_s)}`}${it.within_s ? ` (${word("rehearse.within")} ${it.within_s} s)` : ""}`)));
  $("comes").hidden = !hidden.happenings.length;
  put($("happenings"), hidden.happenings, () => hidden.happenings.map((it) => make("li", { dataset: { happened: it.happened_s === null ? "no" : "yes" } }, `${it.when}: ${it.what || it.name.replaceAll("_", " ")}${it.happened_s === null ? "" : ` · ${clockText(it.happened_s)}`}`)));
  const faults = Object.entries(hidden.faults).map(([code, severity]) => [code, Math.round(severity * 100)]).filter(([, percent]) => percent > 0);
  put($("faults"), faults, () => (faults.length ? faults.map(([code, percent]) => make("p", { className: "row" }, `${titles.get(code) ?? code} · ${percent} %`, small(word("rehearse.clear"), () => hand("fault", { code, severity: 0, over_min: 0 })))) : [make("p", { className: "quiet", textContent: word("rehearse.none_wrong") })]));
  if (!instruments) return;
  const all = [...new Set([...instruments, ...Object.keys(hidden.masked)])];
  put($("instruments"), [all, hidden.masked], () => all.map((key) => {
    const masked = key in hidden.masked;
    const state = !masked ? "" : hidden.masked[key] === null ? ` · ${word("rehearse.hidden_now")}` : ` · ${word("rehearse.frozen_now")} ${textOf(key, hidden.masked[key])}`;
    const name = word(`rehearse.lane_${key}`).replace(/^rehearse\.lane_/, "").replaceAll("_", " ");
    const buttons = masked ? [small(word("rehearse.show"), () => hand("show", { key }))] : [small(word("rehearse.hide"), () => hand("hide", { key })), small(word("rehearse.freeze"), () => hand("freeze", { key }))];
    return make("p", {}, make("span", { textContent: `${name}${state}` }), ...buttons);
  }));
}

followRehearsal("trainer", (told) => showHidden(told.hidden, told.instruments), (message) => message.hidden && showHidden(message.hidden));
