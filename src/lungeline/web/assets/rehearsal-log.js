// What happened in a rehearsal, line by line: told, done, found, answered by the blood-gas analyser.
import { word } from "./given.js";
import { make } from "./make.js";
import { textOf } from "./measures.js";
import { clockText } from "./moments.js";

/** A word of the pages, or the other text where there is none. */
export const wordOr = (key, other) => {
  const found = word(key);
  return found === key ? other : found;
};

/** What a quantity or a setting is called. */
export const called = (key) => wordOr(`rehearse.lane_${key}`, wordOr(`watch.set_${key}`, wordOr(`rehearse.${key}`, key.replaceAll("_", " "))));

/** What a deed is called, by its code. */
export const deedCalled = (code, other = code) => wordOr(`rehearse.deed_${code.replaceAll(" ", "_")}`, other);

const cause = (code) => document.querySelector(`[data-cause="${code}"]`)?.textContent ?? code.replaceAll("_", " ");

/** A value given with a deed, as a person reads it. */
export function givenText(key, value) {
  if (key === "mode") return `${word("watch.mode")} ${word(`watch.mode_${value}`)}`;
  if (key === "cause") return cause(value);
  if (typeof value === "boolean") return `${called(key)} ${word(value ? "rehearse.on" : "rehearse.off")}`;
  if (key === "minutes") return textOf("minutes_min", value);
  if (Array.isArray(value)) return value.map((each) => textOf("pressure_cmh2o", each)).join(", ");
  return typeof value === "number" ? `${wordOr(`watch.set_${key}`, called(key))} ${textOf(key, value)}` : String(value);
}

export const givenTexts = (given) => Object.entries(given ?? {}).filter(([, value]) => value !== null).map(([key, value]) => givenText(key, value)).join(", ");

/** A line of what happened: at_s; kind; deed, text or label; with; found or shown. */
export function line(it) {
  const gases = it.kind === "gas" && Object.entries(it.values).map(([key, value]) => `${called(key)} ${textOf(key, value)}`).join(", ");
  const text = gases ? `${word("rehearse.gas_result")}: ${gases}` : it.deed ? deedCalled(it.deed, it.text || it.label) : it.text || it.label;
  const given = givenTexts(it.with);
  const found = it.found || it.shown || (it.ready_s > it.at_s ? `… ${word("rehearse.ready")} ${clockText(it.ready_s)}` : "");
  return make("li", { dataset: { kind: it.kind ?? "act" } }, make("time", { textContent: clockText(it.at_s) }),
    make("span", {}, given ? `${text}: ${given}` : text, ...(found ? [make("em", { className: "found", textContent: found })] : [])));
}
