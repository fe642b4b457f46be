// Changing settings: what a change would do is shown first; then the person says that they have set it.
import { ask, newest, Refusal } from "./ask.js";
import { word } from "./given.js";
import { make, stepFor } from "./make.js";
import { textOf } from "./measures.js";
import { stepper } from "./stepper.js";

const SETTINGS = [
  ["tidal_volume_l", 0.5, 0.02, 40], ["inspiratory_pressure_cmh2o", 1, 1, 80], ["respiratory_rate_per_min", 1, 1, 80],
  ["inspiratory_time_s", 0.1, 0.2, 15], ["pressure_limit_cmh2o", 1, 5, 100], ["peep_cmh2o", 1, 0, 50],
  ["fresh_gas_flow_l_min", 0.5, 0, 100], ["fresh_gas_oxygen_fraction", 0.05, 0.21, 1], ["vaporiser_percent", 0.1, 0, 18], ["spare_volume_l", 0.5, 0, 80],
];
// what a change is always shown to do; the rest only where it does something
const ALWAYS = new Set(["peak_pressure_cmh2o", "etco2_mmhg", "spare_volume_l"]);
const [NOTABLE, SAME] = [0.05, 0.01];
const MODES = ["volume", "pressure", "assisted", "spontaneous"];

/** Wire the panel. previewAt: where a preview is asked for. note(kind, body, text) enters; assumed(): whether usual values serve. Returns {fill(told)}. */
export function wireSettings({ previewAt, fields, modes, preview, save, note, assumed }) {
  const changed = new Map();
  let current = {};
  const steppers = new Map(SETTINGS.map(([key, step, low, high]) => {
    const it = stepper({ name: key, label: word(`watch.set_${key}`), step: stepFor(key, step), low, high, changed: (value) => moved(key, value) });
    fields.append(it.element);
    return [key, it];
  }));
  const radios = MODES.map((mode) => {
    const radio = make("input", { type: "radio", name: "mode", value: mode });
    radio.onchange = () => moved("mode", mode);
    modes.append(make("label", {}, radio, make("span", { textContent: word(`watch.mode_${mode}`) })));
    return radio;
  });

  const look = newest(
    (body) => ask(previewAt, { method: "POST", body: { settings: body, assumed: assumed() } }),
    (answer) => show(answer.changes),
    (error) => {
      const text = error instanceof Refusal ? error.message : word("frame.needs_connection");
      preview.replaceChildren(make("p", { className: "quiet", textContent: `${word("watch.no_preview")} ${text}` }));
    },
  );

  function moved(key, value) {
    if (value === current[key] || value === null) changed.delete(key);
    else changed.set(key, value);
    save.disabled = changed.size === 0;
    if (changed.size) look(Object.fromEntries(changed));
    else preview.replaceChildren();
  }

  function show(changes) {
    if (!changed.size) return;
    const table = make("div", { className: "change" });
    for (const [key, { now, then }] of Object.entries(changes)) {
      if (!ALWAYS.has(key) && Math.abs(then - now) <= Math.abs(now) * NOTABLE) continue;
      const mark = Math.abs(then - now) <= Math.abs(now) * SAME ? "=" : then > now ? "▲" : "▼";
      for (const text of [word(`watch.lane_${key}`), textOf(key, now), mark, textOf(key, then)]) table.append(make("span", { textContent: text }));
    }
    preview.replaceChildren(make("p", { className: "quiet", textContent: word("watch.preview") }), table);
  }

  const textFor = (key, value) => (key === "mode" ? word(`watch.mode_${value}`) : `${word(`watch.set_${key}`)} ${textOf(key, value)}`);
  save.onclick = () => {
    const body = Object.fromEntries(changed);
    const text = Object.entries(body).map(([key, value]) => textFor(key, value)).join(", ");
    changed.clear();
    save.disabled = true;
    preview.replaceChildren();
    note("setting", body, text);
    fill({ settings: { ...current, ...body } });
  };

  function fill(told) {
    current = told.settings;
    steppers.forEach((it, key) => {
      if (!changed.has(key)) it.set(current[key] ?? null, { quiet: true });
    });
    if (!changed.has("mode")) radios.forEach((radio) => (radio.checked = radio.value === current.mode));
  }
  return { fill };
}
