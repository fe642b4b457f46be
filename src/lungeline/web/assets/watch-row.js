// A row of readings: the last values stand there in grey; one tap says that a value is unchanged, or changes it.
import { word } from "./given.js";
import { make, stepFor } from "./make.js";
import { textOf } from "./measures.js";
import { notice } from "./say.js";
import { stepper } from "./stepper.js";
import { note } from "./watch-notes.js";

// name, step, and where a stepper begins when nothing was measured yet
const ROW = [
  ["heart_rate_per_min", 1, 40], ["systolic_pressure_mmhg", 5, 90], ["map_mmhg", 1, 70], ["diastolic_pressure_mmhg", 5, 60],
  ["respiratory_rate_per_min", 1, 8], ["spo2_fraction", 0.01, 0.97], ["etco2_mmhg", 1, 40], ["fio2_fraction", 0.01, 0.9],
  ["end_tidal_agent_fraction", 0.001, 0.013], ["tidal_volume_expired_l", 0.1, 5], ["peak_pressure_cmh2o", 1, 20],
  ["spare_volume_l", 0.5, 4], ["temperature_c", 0.1, 37],
];

/** Wire the panel. ranges: by name, the lowest and highest an entry takes. Returns {fill(latest), live(numbers)}. */
export function wireRow({ fields, save, marks, takeLive, ranges }) {
  const touched = new Set();
  let numbers = {};
  const steppers = new Map(ROW.map(([key, step]) => {
    const label = word(`watch.lane_${key}`);
    const [low, high] = ranges[key] ?? [0, 1000];
    const it = stepper({ name: key, label, step: stepFor(key, step), low, high, changed: () => touch(key) });
    const same = make("button", { type: "button", className: "theatre same", textContent: "✓" });
    same.setAttribute("aria-label", `${label}: ${word("watch.unchanged")}`);
    same.onclick = () => touch(key, !touched.has(key));
    it.element.append(same);
    it.same = same;
    fields.append(it.element);
    return [key, it];
  }));

  function touch(key, on = true) {
    touched[on ? "add" : "delete"](key);
    const it = steppers.get(key);
    it.element.dataset.old = String(!on);
    it.same.setAttribute("aria-pressed", String(on));
  }

  function enterRow() {
    const body = Object.fromEntries(ROW.map(([key]) => [key, steppers.get(key).value]).filter(([key, value]) => touched.has(key) && value !== null));
    if (!Object.keys(body).length) {
      notice(word("watch.touch_first"));
      return;
    }
    const text = Object.entries(body).map(([key, value]) => textOf(key, value)).join(", ");
    for (const mark of marks) {
      if (mark.checked) body[mark.id] = true;
      mark.checked = false;
    }
    note("reading", body, `${word("watch.row")}: ${text}`);
    steppers.forEach((_, key) => touch(key, false));
  }

  save.onclick = enterRow;
  takeLive.onclick = () => steppers.forEach((it, key) => numbers[key] && it.set(numbers[key][1]));
  return {
    fill(latest) {
      for (const [key, , begin] of ROW) {
        if (touched.has(key)) continue;
        steppers.get(key).set(latest[key]?.value ?? begin, { quiet: true });
        touch(key, false);
      }
    },
    live(now) {
      numbers = now;
      takeLive.hidden = !Object.keys(now).length;
    },
  };
}
