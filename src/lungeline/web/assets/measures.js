// Numbers as the person reads them. What is stored keeps its unit; only what is shown changes.
import { given } from "./given.js";

const suffixes = Object.keys(given.units); // longest first
const unitless = new Set(["1", "multiple", "ratio", "pH"]);

/** The unit at the end of a name, such as cmh2o of peak_pressure_cmh2o. */
export const suffixOf = (name) => suffixes.find((suffix) => name === suffix || name.endsWith(`_${suffix}`)) ?? "";

const change = (name) => {
  const suffix = suffixOf(name);
  if (suffix === "fraction") return { factor: 100, offset: 0, label: "%" };
  const wanted = given.view[suffix] ?? suffix;
  const label = given.units[suffix] ?? "";
  return given.conversions[`${suffix}>${wanted}`] ?? { factor: 1, offset: 0, label: unitless.has(label) ? "" : label };
};

export const labelOf = (name) => change(name).label;
export const toRead = (name, stored) => stored * change(name).factor + change(name).offset;
export const toStore = (name, read) => (read - change(name).offset) / change(name).factor;

/** Three digits at most, as nobody could see more; with the person's decimal sign. */
export function textOf(name, stored, { unit = true } = {}) {
  if (stored === null || stored === undefined || Number.isNaN(stored)) return "–";
  const read = toRead(name, stored);
  let text = Math.abs(read) >= 1000 ? read.toFixed(0) : String(Number(read.toPrecision(3)));
  if (given.view.language === "de") text = text.replace(".", ",");
  const label = unit ? labelOf(name) : "";
  return label ? `${text} ${label}` : text;
}

/** The number somebody typed, with a comma or a point; NaN where it is none. */
export const typed = (text) => (/^\s*[+-]?\d+([.,]\d+)?\s*$/.test(text) ? Number(text.trim().replace(",", ".")) : NaN);
