// Short notices at the edge of the page, with an undo where there is one.
import { word } from "./given.js";

const UNDO_MS = 10000;

/** Show a notice. undo: called where the person takes it back within ten seconds. */
export function notice(text, { undo, kind = "note", ms = UNDO_MS } = {}) {
  const box = document.createElement("div");
  box.className = "told";
  box.dataset.kind = kind;
  const span = document.createElement("span");
  span.textContent = text;
  box.append(span);
  if (undo) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "theatre";
    button.textContent = word("frame.undo");
    button.onclick = () => {
      box.remove();
      undo();
    };
    box.append(button);
  }
  document.getElementById("told").append(box);
  if (ms) setTimeout(() => box.remove(), ms);
  return box;
}
