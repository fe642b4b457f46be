// What the parts of the record page share: elements, times as they were told, tables.
import { given } from "./given.js";
import { make, put } from "./make.js";

export { make, put };

/** A button with its act; name: what a screen reader says where the text alone does not tell. */
export function button(text, act, { name, ...attributes } = {}) {
  const made = make("button", { type: "button", textContent: text, ...attributes });
  if (name) made.setAttribute("aria-label", name);
  made.onclick = act;
  return made;
}

/** The clock of a time as it was told, such as 14:05. */
export const clock = (text) => text.slice(11, 16);

/** Day and clock of a time as it was told. */
export function day(text) {
  const [year, month, date] = text.slice(0, 10).split("-");
  return `${given.view.language === "de" ? `${date}.${month}.${year}` : text.slice(0, 10)} ${clock(text)}`;
}

/** A table with a head of texts and rows of texts; what is no text is put in as it is. */
export function table(head, rows) {
  const cells = (tag, texts) => texts.map((text) => make(tag, tag === "th" ? { scope: "col" } : {}, text));
  const body = make("tbody", {}, ...rows.map((row) => make("tr", {}, ...cells("td", row))));
  const parts = head ? [make("thead", {}, make("tr", {}, ...cells("th", head))), body] : [body];
  return make("div", { className: "wide-table", tabIndex: 0 }, make("table", {}, ...parts));
}
