// Forms made of what an entry of a kind may hold: numbers in the person's units, words, choices, switches, times.
import { given, word } from "./given.js";
import { make } from "./make.js";
import { labelOf, textOf, toRead, toStore, typed } from "./measures.js";

const CLOSE = 1e-9; // of a bound, after a change of unit

/** Make the inputs of a form's fields, filled with `body`. Returns {elements, read}: read() gives the body or throws. */
export function inputs(fields, body = {}) {
  const made = fields.map((field) => ({ field, ...(KINDS[field.kind] ?? line)(field, body[field.key]) }));
  return {
    elements: made.map(({ element }) => element),
    read() {
      const read = {};
      for (const { field, value, keepsNo } of made) {
        const found = value();
        if (found !== undefined && found !== "" && (found !== false || keepsNo)) read[field.key] = found;
        else if (field.required) throw new Error(`${field.label}: ${word("record.needed")}`);
      }
      return read;
    },
  };
}

const labelled = (field, input, wide = "", unit = "") =>
  make("label", { className: `field ${wide}`.trim() }, make("span", { textContent: unit ? `${field.label} (${unit})` : field.label }), input);

function select(field, choices, words, value) {
  const options = choices.map((choice, place) => make("option", { value: choice, textContent: words?.[place] ?? choice, selected: choice === value }));
  return make("select", { name: field.key }, make("option", { value: "", textContent: "" }), ...options);
}

function choice(field, value) {
  const input = select(field, field.choices, field.choice_words, value);
  return { element: labelled(field, input), value: () => input.value };
}

function yesOrNo(field, value) {
  const input = select(field, ["yes", "no"], [word("frame.yes"), word("frame.no")], value === undefined ? "" : value ? "yes" : "no");
  return { element: labelled(field, input), value: () => (input.value ? input.value === "yes" : undefined), keepsNo: true };
}

function tick(field, value) {
  const box = make("input", { type: "checkbox", name: field.key, checked: Boolean(value) });
  return { element: make("label", { className: "field row tick" }, box, make("span", { textContent: field.label })), value: () => box.checked };
}

function paragraph(field, value) {
  const area = make("textarea", { name: field.key, rows: 4, value: value ?? "" });
  return { element: labelled(field, area, "wide"), value: () => area.value.trim() };
}

function line(field, value) {
  const input = make("input", { name: field.key, autocomplete: "off", value: value ?? "" });
  return { element: labelled(field, input), value: () => input.value.trim() };
}

/** Something nobody may read over a shoulder, and no browser may keep. */
function secret(field) {
  const input = make("input", { name: field.key, type: "password", inputMode: "numeric", autocomplete: "off" });
  return { element: labelled(field, input), value: () => input.value };
}

/** A moment, to the second, by the clock it was told with. */
function moment(field, value) {
  const input = make("input", { name: field.key, type: "datetime-local", step: 1, value: value ?? "" });
  return { element: labelled(field, input), value: () => input.value };
}

function number(field, value) {
  const told = value === undefined ? undefined : toRead(field.key, value);
  const shown = told === undefined ? "" : String(Number(told.toPrecision(told === value ? 6 : 4)));
  const first = given.view.language === "de" ? shown.replace(".", ",") : shown;
  const input = make("input", { name: field.key, autocomplete: "off", inputMode: "decimal", value: first });
  const read = () => {
    const text = input.value.trim();
    if (!text) return undefined;
    if (text === first) return value; // untouched: nothing is lost by a change of unit
    const stored = toStore(field.key, typed(text));
    if (Number.isNaN(stored) || stored < field.low - CLOSE || stored > field.high + CLOSE) {
      throw new Error(`${field.label}: ${textOf(field.key, field.low)} – ${textOf(field.key, field.high)}`);
    }
    return Number(stored.toPrecision(9));
  };
  return { element: labelled(field, input, "", labelOf(field.key)), value: read };
}

const KINDS = { choice, "yes or no": yesOrNo, switch: tick, paragraph, secret, moment, number };

/**
 * Ask with a form in a dialog. fields: as given; returns the body, or null where it was closed.
 * above: elements over the form; send: called with the body, what it throws is told and the form stays open.
 */
export function askForm(dialog, title, fields, body = {}, { button, extra = [], above = [], send } = {}) {
  const form = dialog.querySelector("form");
  const own = inputs([...fields, ...extra], body);
  const problem = make("p", { className: "problem", hidden: true });
  problem.setAttribute("role", "alert");
  const take = make("button", { className: "theatre main", type: "submit", textContent: button ?? word("record.save") });
  const leave = make("button", { className: "theatre", type: "button", textContent: word("frame.close") });
  form.replaceChildren(...above, ...own.elements, problem, make("p", { className: "row wide" }, take, leave));
  dialog.querySelector("h2").textContent = title;
  return new Promise((resolve) => {
    const done = (result) => {
      form.onsubmit = leave.onclick = dialog.oncancel = null;
      dialog.close();
      form.replaceChildren(); // nothing typed stays in the page, a PIN least of all
      resolve(result);
    };
    form.onsubmit = async (event) => {
      event.preventDefault();
      if (take.disabled) return;
      take.disabled = true;
      try {
        const read = own.read();
        await send?.(read);
        done(read);
      } catch (error) {
        problem.textContent = error.message;
        problem.hidden = false;
        problem.scrollIntoView({ block: "nearest" });
      }
      take.disabled = false;
    };
    leave.onclick = () => done(null);
    dialog.oncancel = () => done(null);
    dialog.showModal();
  });
}
