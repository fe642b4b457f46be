// What is done by hand takes numbers: how long, how much, how often. They are asked for first.
import { word } from "./given.js";
import { make, stepFor } from "./make.js";
import { stepper } from "./stepper.js";

// what each takes: name, how it is offered, step, least, most; kept within what the model takes
const volume = (known, share) => (known.tidal_volume_l ?? 6) * share;
const TAKES = {
  "deep breath": (known) => [["volume_l", volume(known, 1.5), 0.5, 0.05, 60], ["inspiratory_time_s", 3, 0.5, 0.3, 30]],
  recruitment: () => [["pressures_cmh2o", 40, 5, 5, 100], ["hold_s", 12, 1, 1, 60]],
  "inspiratory hold": () => [["hold_s", 3, 1, 0.2, 60]],
  "expiratory hold": () => [["hold_s", 5, 1, 0.2, 60]],
  "hand ventilation": (known) => [["minutes_min", 0.5, 0.5, 0.1, 30], ["volume_l", volume(known, 1), 0.5, 0.05, 40], ["rate_per_min", 6, 1, 0.5, 60]],
  "demand valve": () => [["minutes_min", 0.5, 0.5, 0.1, 30], ["rate_per_min", 6, 1, 0.5, 60]],
  disconnect: () => [["minutes_min", 0.5, 0.5, 0.05, 30]],
  flush: () => [["seconds_s", 5, 1, 0.5, 60]],
};
const FIELD = { minutes_min: "minutes", seconds_s: "seconds_s" };

export const isManoeuvre = (deed) => deed in TAKES;

/** Ask in a dialog. title: of it; inside: elements; read: called for the answer. Resolves to that, or null. */
export function asked(title, inside, read) {
  return new Promise((resolve) => {
    const go = make("button", { type: "button", className: "theatre main", textContent: word("rehearse.do_it") });
    const leave = make("button", { type: "button", className: "theatre", textContent: word("frame.close") });
    const dialog = make("dialog", { className: "pad" }, make("h2", { textContent: title }), make("div", { className: "steppers" }, ...inside), make("p", { className: "row" }, go, leave));
    dialog.setAttribute("aria-label", title);
    let answer = null;
    leave.onclick = () => dialog.close();
    go.onclick = () => {
      answer = read();
      dialog.close();
    };
    dialog.onclose = () => {
      dialog.remove();
      resolve(answer);
    };
    document.body.append(dialog);
    dialog.showModal();
  });
}

/** Ask what a manoeuvre takes. known: settings. Resolves to what is given with it, or null. */
export function askManoeuvre(kind, title, known) {
  const steppers = TAKES[kind](known).map(([name, value, step, low, high]) => [name, stepper({ name: name === "pressures_cmh2o" ? "pressure_cmh2o" : name, label: word(`rehearse.${name}`), value, step: stepFor(name, step), low, high })]);
  return asked(title, steppers.map(([, it]) => it.element), () => Object.fromEntries(steppers.map(([name, it]) => [FIELD[name] ?? name, name === "pressures_cmh2o" ? [it.value] : it.value])));
}
