// The questions: numbers in the person's units, choices, cylinders; to tables of a case.
import { word } from "./given.js";
import { labelOf, toRead, toStore, typed } from "./measures.js";

const CYLINDER_TEXTS = new Set(["size"]);
const CONDITION_OF = { "colic surgery": "colic", "caesarean section": "pregnant" };

/** Write units beside the fields and known numbers into them; wire what follows from what. */
export function fillForm(form, cylinders) {
  form.querySelectorAll("[data-unit]").forEach((small) => {
    const label = labelOf(small.dataset.unit);
    small.textContent = label ? `(${label})` : "";
  });
  form.querySelectorAll("[data-stored]").forEach((input) => {
    const read = Number(toRead(input.dataset.number, Number(input.dataset.stored)).toPrecision(6));
    input.value = String(read);
  });
  form.querySelectorAll("[name='procedure.kind']").forEach((radio) => {
    radio.addEventListener("change", () => {
      const condition = CONDITION_OF[radio.value] ?? "healthy";
      form.querySelector(`[name='animal.condition'][value='${condition}']`).checked = true;
    });
  });
  document.getElementById("add-cylinder").onclick = () => addCylinder();
  cylinders.forEach(addCylinder);
  form.querySelectorAll("[name='supply.oxygen']").forEach((radio) => {
    radio.addEventListener("change", () => {
      if (radio.value === "cylinders" && !document.querySelector("#cylinders .cylinder")) addCylinder();
    });
  });
}

function addCylinder(known = {}) {
  const made = document.getElementById("cylinder").content.cloneNode(true);
  made.querySelectorAll("[data-unit]").forEach((small) => {
    const label = labelOf(small.dataset.unit);
    small.textContent = label ? `(${label})` : "";
  });
  for (const input of made.querySelectorAll("[data-cylinder]")) {
    const value = known[input.dataset.cylinder];
    if (value !== undefined && value !== null) {
      input.value = input.dataset.number ? String(Number(toRead(input.dataset.number, value).toPrecision(6))) : value;
    }
  }
  made.querySelector("[data-remove]").onclick = (event) => event.target.closest(".cylinder").remove();
  document.getElementById("cylinders").append(made);
}

/** The tables of a case as far as somebody said anything; null, and the field marked, where a number is none.
    known: what a plan kept before tells beyond the form. */
export function caseTables(form, known) {
  const tables = structuredClone(known);
  for (const input of form.querySelectorAll("[name]")) {
    const [section, field] = input.name.split(".");
    if (input.type === "radio") {
      if (input.checked && input.value !== input.dataset.usual) (tables[section] ??= {})[field] = input.value;
    } else if (input.value.trim()) {
      const value = numberOf(input);
      if (value === undefined) return null;
      (tables[section] ??= {})[field] = value;
    } else {
      input.setCustomValidity("");
      delete tables[section]?.[field];
    }
  }
  const rows = cylinderRows();
  if (rows === null) return null;
  if (rows.length) tables.cylinders = rows;
  return tables;
}

function numberOf(input) {
  const value = toStore(input.dataset.number, typed(input.value));
  const wrong = Number.isNaN(value);
  input.setCustomValidity(wrong ? word("prepare.not_a_number") : "");
  input.setAttribute("aria-invalid", String(wrong));
  if (wrong) {
    input.closest("details")?.setAttribute("open", "");
    input.reportValidity();
    input.focus();
  }
  return wrong ? undefined : Number(value.toPrecision(9));
}

function cylinderRows() {
  const rows = [];
  for (const box of document.querySelectorAll("#cylinders .cylinder")) {
    const row = {};
    for (const input of box.querySelectorAll("[data-cylinder]")) {
      const field = input.dataset.cylinder;
      if (!input.value.trim()) continue;
      const value = CYLINDER_TEXTS.has(field) ? input.value : numberOf(input);
      if (value === undefined) return null;
      row[field] = value;
    }
    rows.push(row);
  }
  return rows;
}

/** What was asked, in one line, for the closed questions. */
export function told(form) {
  const chosen = (name) => form.querySelector(`[name='${name}']:checked`)?.parentElement.textContent.trim() ?? "";
  const number = (name) => {
    const input = form.querySelector(`[name='${name}']`);
    const text = input.value.trim() || input.placeholder;
    return text && `${text} ${labelOf(input.dataset.number)}`;
  };
  return [
    chosen("animal.species"), number("animal.weight_kg"), chosen("animal.position"),
    number("equipment.reservoir_capacity_l"), chosen("procedure.kind"),
  ].filter(Boolean).join(" · ");
}
