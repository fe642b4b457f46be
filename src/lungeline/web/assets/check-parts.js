// What the parts of the check share: elements, verdicts, findings, and which machine is meant.
import { given, word } from "./given.js";
import { make } from "./make.js";
import { textOf } from "./measures.js";

export { make };

export const caseId = document.body.dataset.case ?? "";

/** Whether checks go into the log of their machine; not in a rehearsal beside real cases. */
export const logs = document.getElementById("which").dataset.logs === "yes";

export const button = (text, pressed, { main = false, ...attributes } = {}) =>
  make("button", { type: "button", className: `theatre${main ? " main" : ""}`, onclick: pressed, ...attributes }, text);

/** Words of a fixed set, such as of a verdict; the text itself where there are none. */
export const termed = (stem, text) => {
  const key = `check.${stem}_${String(text).replaceAll(/[^a-z0-9]+/gi, "_")}`;
  const found = word(key);
  return found === key ? text : found;
};

/** How a number is called. */
export const called = (name) => {
  const found = word(`check.${name}`);
  return found === `check.${name}` ? name.replace(/_[^_]+$/, "").replaceAll("_", " ") : found;
};

export const verdictBox = (verdict, ...inside) =>
  make("div", { className: "verdict", dataset: { verdict } }, make("strong", {}, termed("verdict", verdict)), make("div", {}, ...inside));

export const findingBox = (it) =>
  make("div", { className: "finding", dataset: { severity: it.severity } },
    make("span", { className: "rank" }, termed("rank", it.severity)),
    make("span", {}, `${it.says} `, make("span", { className: "quiet" }, it.do)));

export const problemBox = (error) => make("p", { className: "problem", aria: { role: "alert" } }, error.message);

export const spanText = (name, low, high) => `${textOf(name, low, { unit: false })} – ${textOf(name, high)}`;

/** A moment as the person writes it: day and hour. */
export function momentOf(text, { day = true } = {}) {
  const moment = new Date(text);
  const how = { hour: "2-digit", minute: "2-digit", ...(day ? { year: "numeric", month: "short", day: "numeric" } : {}) };
  return new Intl.DateTimeFormat(given.view.language === "en" ? "en-GB" : given.view.language, how).format(moment);
}

// --- which machine -----------------------------------------------------------------------------------------------

const heard = new Set();
const KEPT = "lungeline-check-machine";
let chosen = sessionStorage.getItem(KEPT) ?? "";

/** The name of the machine that is meant, empty while none is. */
export const machineName = () => chosen;

let named = [];
/** Tell which machines are registered. */
export const register = (names) => (named = names);
/** Whether what is checked now goes into a log. */
export const isLogged = () => logs && named.includes(chosen);

export function chooseMachine(name) {
  chosen = name;
  sessionStorage.setItem(KEPT, name);
  heard.forEach((listener) => listener(name));
}

/** Call now and whenever another machine is chosen. */
export function onMachine(listener) {
  heard.add(listener);
  listener(chosen);
}
