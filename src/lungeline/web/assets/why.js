// Every computed number can be asked where it comes from.
import { word } from "./given.js";
import { textOf } from "./measures.js";

const ROWS = ["formula", "range", "source", "basis"];

/** Show why a number is what it is. told: {name, value, low, high, formula, inputs, sources, basis, note}. */
export function showWhy(told) {
  const dialog = document.getElementById("why");
  const label = told.label ?? told.name;
  document.getElementById("why-name").textContent = `${label}: ${typeof told.value === "number" ? textOf(told.name, told.value) : told.value}`;
  const body = document.getElementById("why-body");
  body.replaceChildren();
  const list = document.createElement("dl");
  const row = (name, value) => {
    if (value === undefined || value === null || value === "") return;
    const [term, detail] = ["dt", "dd"].map((tag) => document.createElement(tag));
    term.textContent = name;
    detail.textContent = value;
    list.append(term, detail);
  };
  const flat = {
    formula: told.formula,
    range: told.low === undefined || told.low === null ? null : `${textOf(told.name, told.low)} – ${textOf(told.name, told.high)}`,
    source: Array.isArray(told.sources) ? told.sources.join("; ") : Object.values(told.sources ?? {}).join("; "),
    basis: told.basis,
  };
  ROWS.forEach((name) => row(word(`frame.${name}`), flat[name]));
  for (const [name, value] of Object.entries(told.inputs ?? {})) {
    row(name, typeof value === "number" ? textOf(name, value) : String(value?.value ?? value));
  }
  row("", told.note);
  body.append(list);
  dialog.showModal();
}

/** A small button that asks. get: returns the telling, or a promise of it. */
export function whyButton(label, get) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "why";
  button.textContent = word("frame.why");
  button.setAttribute("aria-label", `${word("frame.why")} ${label}`);
  button.onclick = async () => showWhy(await get());
  return button;
}
