// Numbers set with gloves on: less, more, and a pad of big keys with the unit in it.
import { word } from "./given.js";
import { labelOf, textOf, toRead, toStore, typed } from "./measures.js";

/** Make a stepper: {element, value, set}. name: the stored name with its unit; changed is called with the stored value. */
export function stepper({ name, label, value = null, step = 1, low = -Infinity, high = Infinity, changed = () => {} }) {
  const element = document.createElement("div");
  element.className = "stepper";
  element.setAttribute("role", "group");
  element.setAttribute("aria-label", label);
  const [less, shown, more] = ["−", "", "+"].map((sign) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "theatre";
    button.textContent = sign;
    element.append(button);
    return button;
  });
  less.setAttribute("aria-label", `${label}: ${word("frame.less")}`);
  more.setAttribute("aria-label", `${label}: ${word("frame.more")}`);
  shown.classList.add("shown");
  const self = {
    element,
    value,
    set(next, { quiet = false } = {}) {
      const rounded = next === null ? null : Math.min(high, Math.max(low, Number(next.toPrecision(9))));
      self.value = rounded;
      shown.innerHTML = "";
      const name_ = document.createElement("small");
      name_.textContent = label;
      shown.append(name_, document.createTextNode(` ${textOf(name, rounded)}`));
      shown.setAttribute("aria-label", `${label}: ${textOf(name, rounded)}`);
      if (!quiet) changed(rounded);
    },
  };
  less.onclick = () => self.set((self.value ?? 0) - step);
  more.onclick = () => self.set((self.value ?? 0) + step);
  shown.onclick = () => pad({ name, label, value: self.value, low, high }).then((next) => next !== undefined && self.set(next));
  self.set(value, { quiet: true });
  return self;
}

/** Ask for a number with big keys. Resolves to the stored value, null for emptied, undefined for left as it was. */
export function pad({ name, label, value = null, low = -Infinity, high = Infinity }) {
  const dialog = document.createElement("dialog");
  dialog.className = "pad";
  dialog.setAttribute("aria-label", label);
  let text = "";
  const title = document.createElement("strong");
  title.textContent = `${label} (${labelOf(name) || "1"})`;
  const output = document.createElement("output");
  const problem = document.createElement("p");
  problem.className = "quiet";
  problem.setAttribute("role", "alert");
  const keys = document.createElement("div");
  keys.className = "keys";
  dialog.append(title, output, problem, keys);
  const show = () => {
    output.textContent = text || (value === null ? "" : `(${textOf(name, value)})`);
  };
  const press = (key) => {
    if (key === "⌫") text = text.slice(0, -1);
    else if (key === "±") text = text.startsWith("-") ? text.slice(1) : `-${text}`;
    else if (/^[\d.,]$/.test(key)) text += key === "," ? "." : key;
    show();
  };
  return new Promise((resolve) => {
    const done = (result) => {
      dialog.close();
      dialog.remove();
      resolve(result);
    };
    const accept = () => {
      if (!text) return done(undefined);
      const read = typed(text);
      const stored = toStore(name, read);
      if (Number.isNaN(read) || stored < low - 1e-9 || stored > high + 1e-9) {
        problem.textContent = `${word("frame.allowed")}: ${textOf(name, low)} – ${textOf(name, high)}`;
        return undefined;
      }
      return done(stored);
    };
    for (const key of ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"]) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "theatre";
      button.textContent = key;
      button.onclick = () => press(key);
      keys.append(button);
    }
    const leave = document.createElement("button");
    leave.type = "button";
    leave.className = "theatre";
    leave.textContent = word("frame.close");
    leave.onclick = () => done(undefined);
    const take = document.createElement("button");
    take.type = "button";
    take.className = "theatre main";
    take.textContent = "✓";
    take.setAttribute("aria-label", word("frame.yes"));
    take.onclick = accept;
    keys.append(leave, take);
    dialog.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        accept();
      } else if (event.key === "Backspace") press("⌫");
      else if (event.key === "-") press("±");
      else press(event.key);
    });
    dialog.addEventListener("cancel", () => done(undefined));
    document.body.append(dialog);
    show();
    dialog.showModal();
  });
}
