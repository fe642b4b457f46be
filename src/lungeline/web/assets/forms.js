// Forms made of what an entry of a kind may hold: numbers in the person's units, words, choices, switches.
import { word } from "./given.js";
import { labelOf, textOf, toRead, toStore, typed } from "./measures.js";

const make = (tag, attributes = {}, ...inside) => {
  const element = Object.assign(document.createElement(tag), attributes);
  element.append(...inside);
  return element;
};

/** Make the inputs of a form's fields, filled with `body`. Returns {elements, read}: read() gives the body or throws. */
export function inputs(fields, body = {}) {
  const made = fields.map((field) => ({ field, ...one(field, body[field.key]) }));
  return {
    elements: made.map(({ element }) => element),
    read() {
      const read = {};
      for (const { field, value } of made) {
        const found = value();
        if (found !== undefined && found !== "" && found !== false) read[field.key] = found;
        else if (field.required) throw new Error(`${field.label}: ${word("record.needed")}`);
      }
      return read;
    },
  };
}

function one(field, value) {
  const label = field.kind === "number" && labelOf(field.key) ? `${field.label} (${labelOf(field.key)})` : field.label;
  const name = make("span", { textContent: label });
  if (field.kind === "choice") {
    const select = make("select", { name: field.key }, make("option", { value: "", textContent: "" }));
    for (const choice of field.choices) select.append(make("option", { value: choice, textContent: choice, selected: choice === value }));
    return { element: make("label", { className: "field" }, name, select), value: () => select.value };
  }
  if (field.kind === "switch") {
    const box = make("input", { type: "checkbox", name: field.key, checked: Boolean(value) });
    return { element: make("label", { className: "field row tick" }, box, name), value: () => box.checked };
  }
  if (field.kind === "paragraph") {
    const area = make("textarea", { name: field.key, rows: 4, value: value ?? "" });
    return { element: make("label", { className: "field wide" }, name, area), value: () => area.value.trim() };
  }
  const input = make("input", { name: field.key, autocomplete: "off" });
  if (field.kind === "number") {
    input.inputMode = "decimal";
    if (value !== undefined) input.value = String(Number(toRead(field.key, value).toPrecision(6)));
    return { element: make("label", { className: "field" }, name, input), value: () => number(field, input.value) };
  }
  input.value = value ?? "";
  return { element: make("label", { className: "field" }, name, input), value: () => input.value.trim() };
}

function number(field, text) {
  if (!text.trim()) return undefined;
  const stored = toStore(field.key, typed(text));
  if (Number.isNaN(stored) || stored < field.low - 1e-9 || stored > field.high + 1e-9) {
    throw new Error(`${field.label}: ${textOf(field.key, field.low)} – ${textOf(field.key, field.high)}`);
  }
  return Number(stored.toPrecision(9));
}

/** Ask with a form in a dialog. fields: as given; returns the body, or null where it was closed. */
export function askForm(dialog, title, fields, body = {}, { button, extra = [] } = {}) {
  const form = dialog.querySelector("form");
  const own = inputs([...fields, ...extra], body);
  const problem = make("p", { className: "problem", hidden: true });
  problem.setAttribute("role", "alert");
  const take = make("button", { className: "theatre main", type: "submit", textContent: button ?? word("record.save") });
  const leave = make("button", { className: "theatre", type: "button", textContent: word("frame.close") });
  form.replaceChildren(...own.elements, problem, make("p", { className: "row wide" }, take, leave));
  dialog.querySelector("h2").textContent = title;
  return new Promise((resolve) => {
    const done = (result) => {
      form.onsubmit = leave.onclick = dialog.oncancel = null;
      dialog.close();
      resolve(result);
    };
    form.onsubmit = (event) => {
      event.preventDefault();
      try {
        done(own.read());
      } catch (error) {
        problem.textContent = error.message;
        problem.hidden = false;
      }
    };
    leave.onclick = () => done(null);
    dialog.oncancel = () => done(null);
    dialog.showModal();
  });
}
