// Beside a real machine: what it does on the rubber lung is read off and typed; what the story turned is told.
import { word } from "./given.js";
import { make, put, stepFor } from "./make.js";
import { givenText } from "./rehearsal-log.js";
import { stepper } from "./stepper.js";

const FIELDS = [
  ["respiratory_rate_per_min", 1, 1, 80], ["tidal_volume_l", 0.5, 0.02, 40], ["peak_pressure_cmh2o", 1, 1, 120], ["peep_cmh2o", 1, 0, 50],
  ["inspiratory_time_s", 0.1, 0.2, 15], ["fresh_gas_oxygen_fraction", 0.05, 0.21, 1], ["fresh_gas_flow_l_min", 0.5, 0, 100], ["vaporiser_percent", 0.1, 0, 18],
];
const DRIVES = ["volume", "pressure"];

/** Wire the panel. parts: its elements; send({typed, turned}) => promise, refused in words. Returns {fill(bench)}. */
export function wireBench({ fields, drives, runs, problem, missing, read, turned, toSet, send }) {
  const changed = new Map();
  let current = {};
  let first = true;
  const steppers = new Map(FIELDS.map(([key, step, low, high]) => {
    const it = stepper({ name: key, label: word(`rehearse.bench_${key}`), step: stepFor(key, step), low, high, changed: (value) => moved(key, value) });
    fields.append(make("div", {}, it.element, make("p", { className: "quiet", textContent: word(`rehearse.where_${key}`) })));
    return [key, it];
  }));
  const choice = (box, name, values, text) => values.map((value) => {
    const radio = make("input", { type: "radio", name });
    radio.onchange = () => moved(name, value);
    box.append(make("label", {}, radio, make("span", { textContent: text(value) })));
    return [value, radio];
  });
  const choices = {
    drives: choice(drives, "drives", DRIVES, (value) => word(`watch.mode_${value}`)),
    ventilator_on: choice(runs, "ventilator_on", [true, false], (value) => word(value ? "rehearse.on" : "rehearse.off")),
  };

  function moved(key, value) {
    if (value === current[key] || value === null) changed.delete(key);
    else changed.set(key, value);
    offer();
  }

  const needed = fields.dataset.needed.split(" ");

  function offer() {
    const stands = (changed.get("ventilator_on") ?? current.ventilator_on) === false;
    const lacking = stands ? [] : needed.filter((key) => !changed.has(key) && (current[key] ?? null) === null);
    const text = lacking.length ? `${word("rehearse.bench_missing")} ${lacking.map((key) => word(`rehearse.bench_${key}`)).join(", ")}` : "";
    if (missing.textContent !== text) missing.textContent = text;
    read.textContent = word(first ? "rehearse.bench_first" : "rehearse.bench_read");
    read.disabled = lacking.length > 0 || (!first && changed.size === 0);
    turned.disabled = changed.size === 0;
    turned.hidden = first;
    read.classList.toggle("main", first);
  }

  async function say(byLearner) {
    problem.hidden = true;
    try {
      await send({ typed: Object.fromEntries(changed), turned: byLearner });
      changed.clear();
    } catch (error) {
      problem.textContent = error.message;
      problem.hidden = false;
    }
    offer();
  }
  read.onclick = () => say(false);
  turned.onclick = () => say(true);

  /** Fill in what is typed so far. */
  function fill({ typed, to_set: wanted }) {
    first = Object.keys(typed).length === 0;
    current = first ? { drives: "volume", ventilator_on: true } : typed;
    steppers.forEach((it, key) => !changed.has(key) && it.set(current[key] ?? null, { quiet: true }));
    for (const [name, all] of Object.entries(choices)) if (!changed.has(name)) all.forEach(([value, radio]) => (radio.checked = value === current[name]));
    offer();
    const lines = Object.entries(wanted);
    toSet.hidden = !lines.length;
    put(toSet, lines, () => [make("strong", { textContent: word("rehearse.to_set") }), make("span", { textContent: lines.map(([key, value]) => givenText(key, value)).join(", ") })]);
  }
  return { fill };
}
