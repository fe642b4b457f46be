// Drugs, infusions, manoeuvres and everything that has a form. The forms came with the page: they need no connection.
import { askForm } from "./forms.js";
import { word } from "./given.js";
import { make, put } from "./make.js";
import { textOf } from "./measures.js";
import { doubted } from "./watch-gas.js";
import { note } from "./watch-notes.js";

const read = (id) => JSON.parse(document.getElementById(id).textContent);
export const kinds = read("kinds");
const drugs = read("drugs"); // each with the names it is called by
const named = new Map(drugs.flatMap((drug) => [drug.name, ...drug.also].map((name) => [name.toLowerCase(), drug.name])));
const dialog = document.getElementById("form");
const QUICK = { drug: ["drug", "amount_mg", "volume_ml", "route", "estimated"], infusion: ["drug", "action", "rate_ml_h", "dose_ug_kg_min"] };
const DEEP_MULTIPLE = 1.5;
let told = null;
let needs = [];

/** Ask with the form of a kind, and enter what was told. */
export async function askAndNote(kind, title, body = {}, keys = QUICK[kind]) {
  const fields = kinds[kind].fields.filter((field) => !keys || keys.includes(field.key));
  const asked = askForm(dialog, title, fields, body, kind === "gases" ? { send: doubted() } : {});
  dialog.querySelector("input[name=drug]")?.setAttribute("list", "drug-names");
  const answer = await asked;
  if (!answer) return false;
  if (answer.drug) answer.drug = named.get(answer.drug.toLowerCase()) ?? answer.drug;
  const amount = ["amount_mg", "volume_ml", "rate_ml_h", "dose_ug_kg_min", "volume_l"].find((key) => key in answer);
  note(kind, answer, [answer.drug ?? answer.what ?? title, amount ? textOf(amount, answer[amount]) : ""].join(" ").trim());
  return true;
}

async function give(dose) {
  const sure = Boolean(dose.volume_ml); // a volume is told only at a strength that was confirmed
  const fields = [
    { key: "amount_mg", label: word("watch.amount"), kind: "number", low: 0, high: 1e6, required: true },
    ...(sure ? [] : [{ key: "confirmed", label: word("watch.confirm_strength"), kind: "switch", required: true }]),
  ];
  const title = [dose.drug, dose.route, sure ? textOf("volume_ml", dose.volume_ml) : ""].filter(Boolean).join(" · ");
  const body = await askForm(dialog, title, fields, { amount_mg: dose.total_mg }, { button: word("watch.given") });
  if (!body) return;
  const entered = { drug: dose.drug, amount_mg: body.amount_mg };
  for (const key of ["use", "route"]) if (dose[key]) entered[key] = dose[key];
  if (sure) entered.volume_ml = Number(((dose.volume_ml * body.amount_mg) / dose.total_mg).toPrecision(4));
  note("drug", entered, `${dose.drug} ${textOf("amount_mg", body.amount_mg)}`);
}

/** What speaks against a manoeuvre now: the blood pressure, the spare gas. */
function guards(deep, volume) {
  const pressure = told?.latest.map_mmhg?.value;
  const spare = told?.latest.spare_volume_l?.value ?? told?.settings.spare_volume_l;
  const need = needs.find((each) => each.name.startsWith(deep ? "one deep" : "recruitment"))?.needed_l ?? (deep ? volume : undefined);
  return [
    pressure === undefined ? word("watch.guard_no_pressure") : pressure < told.guard.map_least_mmhg ? `${word("watch.guard_pressure")} ${textOf("map_mmhg", pressure)}` : "",
    spare === undefined ? word("watch.guard_no_spare") : need !== undefined && spare < need ? `${word("watch.guard_spare")} ${textOf("spare_volume_l", spare)}, ${word("watch.guard_needs")} ${textOf("needed_l", need)}` : "",
  ].filter(Boolean);
}

async function manoeuvre(what, name) {
  const deep = what === "deep breath";
  const usual = told?.settings.tidal_volume_l;
  const label = word(deep ? "watch.breath_of" : "watch.lane_peak_pressure_cmh2o");
  const fields = [{ key: deep ? "volume_l" : "pressure_cmh2o", label, kind: "number", low: deep ? 0.05 : 5, high: deep ? 60 : 100, required: true }];
  const asked = askForm(dialog, name, fields, deep && usual ? { volume_l: Number((usual * DEEP_MULTIPLE).toPrecision(2)) } : {}, { button: word("watch.done") });
  const warned = guards(deep, usual).map((text) => make("p", { className: "finding", dataset: { severity: "caution" } }, make("span", { className: "rank", textContent: "▲▲" }), make("span", { textContent: text })));
  dialog.querySelector("form").prepend(...warned);
  const body = await asked;
  if (!body) return;
  const detail = Object.entries(body).map(([key, value]) => textOf(key, value)).join(", ");
  note("event", { what, detail }, `${name}: ${detail}`);
}

document.querySelectorAll("[data-kind]").forEach((button) => {
  button.onclick = () => askAndNote(button.dataset.kind, button.textContent, button.dataset.kind === "infusion" ? { action: "start" } : {});
});
document.querySelectorAll("[data-event]").forEach((button) => {
  button.onclick = () => note("event", { what: button.dataset.event }, button.textContent);
});
document.querySelectorAll("[data-manoeuvre]").forEach((button) => {
  button.onclick = () => manoeuvre(button.dataset.manoeuvre, button.textContent);
});

/** Ask for one number; null where none was given. field: {key, label, low, high}. */
export const askNumber = async (title, field) => (await askForm(dialog, title, [{ kind: "number", required: true, ...field }]))?.[field.key] ?? null;

/** Ask yes or no. */
export const askYes = async (title) => Boolean(await askForm(dialog, title, [], {}, { button: word("frame.yes") }));

/** What the next manoeuvre needs, as reckoned. */
export const setNeeds = (manoeuvres) => (needs = manoeuvres);

/** Show what is planned and what runs. */
export function showDrugs(now) {
  told = now;
  const doses = now.planned.filter((dose) => dose.total_mg);
  put(document.getElementById("planned"), doses, () => doses.map((dose) => {
    const volume = dose.volume_ml ? ` · ${textOf("volume_ml", dose.volume_ml)}` : "";
    const button = make("button", { type: "button", className: "theatre", textContent: `${dose.drug} ${textOf("total_mg", dose.total_mg)}${volume}` });
    button.onclick = () => give(dose);
    return button;
  }));
  put(document.getElementById("running"), now.running, () => now.running.map((it) => {
    const rate = ["rate_ml_h", "dose_ug_kg_min"].filter((key) => it[key] !== undefined);
    const change = make("button", { type: "button", className: "theatre", textContent: word("watch.change") });
    change.onclick = () => askAndNote("infusion", it.drug, { ...it, action: "change" });
    const stop = make("button", { type: "button", className: "theatre", textContent: `${word("watch.stop")} ${it.drug}` });
    stop.onclick = () => note("infusion", { drug: it.drug, action: "stop" }, `${it.drug}: ${word("watch.stop")}`);
    return make("p", { className: "row" }, make("span", { textContent: [it.drug, ...rate.map((key) => textOf(key, it[key]))].join(" · ") }), change, stop);
  }));
}
