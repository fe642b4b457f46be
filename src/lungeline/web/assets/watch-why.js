// What the parts of "why and what next" share: a bar over a second, what a failed question says, readings by name.
import { Refusal } from "./ask.js";
import { given, word } from "./given.js";
import { make } from "./make.js";

const SLOW_MS = 1000;
const panel = document.getElementById("panel-why");
const tab = document.getElementById("tab-why");

/** Whether the panel is open. */
export const isOpen = () => !panel.hidden;

/** Call whenever the panel is opened. */
export const onOpen = (opened) => new MutationObserver(() => isOpen() && opened()).observe(tab, { attributes: true, attributeFilter: ["aria-selected"] });

/** Show that something is reckoned once it takes over a second. Returns what ends it. */
export function working(box) {
  const bar = make("progress", { className: "working" });
  bar.setAttribute("aria-label", word("why.working"));
  const line = make("p", { className: "row quiet" }, word("why.working"), bar);
  const timer = setTimeout(() => box.prepend(line), SLOW_MS);
  return () => {
    clearTimeout(timer);
    line.remove();
  };
}

/** What a failed question says. */
export const failure = (error) => make("p", { className: "problem", textContent: error instanceof Refusal ? error.message : word("why.needs_connection") });

/** What a reading is called. */
export const nameOf = (key) => word(`why.q_${key.replace("@", "_at_")}`);

/** A moment by the clock. */
export const clockOf = (iso) => new Date(iso).toLocaleTimeString(given.view.language, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

/** Words with places filled in. */
export const filled = (key, places) => word(key).replace(/\{(\w+)\}/g, (_, name) => places[name]);

/** One finding: its rank before it, what it says, what to do. */
export const finding = (it, rank = "", ...more) => make("div", { className: "finding", dataset: { severity: it.severity } }, make("span", { className: "rank", textContent: rank }), make("div", {}, make("strong", { textContent: it.says }), " ", it.do, ...more));
