// Changing settings: what a change would do is shown first; then the person says that they have set it.
import { ask, newest } from "./ask.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { stepper } from "./stepper.js";

const SETTINGS = [
  ["tidal_volume_l", 0.5, 0.02, 40], ["respiratory_rate_per_min", 1, 1, 80], ["inspiratory_time_s", 0.1, 0.2, 15],
  ["pressure_limit_cmh2o", 1, 5, 100], ["peep_cmh2o", 1, 0, 50], ["fresh_gas_flow_l_min", 0.5, 0, 100],
  ["vaporiser_percent", 0.1, 0, 18], ["spare_volume_l", 0.5, 0, 80],
];

/** Wire the panel. note(kind, body, text) enters. Returns {fill(told)}. */
export function wireSettings({ caseId, fields, preview, save, note }) {
  const changed = new Map();
  let current = {};
  const steppers = new Map(SETTINGS.map(([key, step, low, high]) => {
    const it = stepper({ name: key, label: word(`watch.set_${key}`), step, low, high, changed: (value) => moved(key, value) });
    fields.append(it.element);
    return [key, it];
  }));

  const look = newest(
    (body) => ask(`/api/cases/${caseId}/preview`, { method: "POST", body: { settings: body } }),
    (answer) => show(answer.changes),
    (error) => (preview.textContent = `${word("frame.needs_connection")}: ${error.message}`),
  );

  function moved(key, value) {
    if (value === current[key]) changed.delete(key);
    else changed.set(key, value);
    save.disabled = changed.size === 0;
    if (changed.size) look(Object.fromEntries(changed));
    else preview.replaceChildren();
  }

  function show(changes) {
    const table = document.createElement("div");
    table.className = "change";
    for (const [key, { now, then }] of Object.entries(changes)) {
      for (const text of [word(`watch.lane_${key}`), textOf(key, now), "→", textOf(key, then)]) {
        const cell = document.createElement("span");
        cell.textContent = text;
        table.append(cell);
      }
    }
    const head = document.createElement("p");
    head.className = "quiet";
    head.textContent = word("watch.preview");
    preview.replaceChildren(head, table);
  }

  save.onclick = () => {
    const body = Object.fromEntries(changed);
    const text = Object.entries(body).map(([key, value]) => `${word(`watch.set_${key}`)} ${textOf(key, value)}`).join(", ");
    changed.clear();
    save.disabled = true;
    preview.replaceChildren();
    note("setting", body, text);
  };

  return {
    fill(told) {
      current = told.settings;
      steppers.forEach((it, key) => {
        if (!changed.has(key)) it.set(current[key] ?? null, { quiet: true });
      });
    },
  };
}
