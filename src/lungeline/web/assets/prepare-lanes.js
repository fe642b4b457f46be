// The predicted breath, and the first two hours: a lane for each quantity.
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { lane } from "./lane.js";

const SMALL_PX = 720;
const plain = (told) => (told && typeof told === "object" ? told.value : told);

/** Lanes of one breath: pressure, flow, carbon dioxide. */
export function breathLanes(box) {
  const tall = innerWidth >= SMALL_PX; // on a phone they stay in view above the sliders, so they are low
  const pressure = lane(box, { name: "pressure_cmh2o", label: word("prepare.pressure"), height: tall ? 140 : 74 });
  const flow = lane(box, { name: "flow_l_s", label: word("prepare.flow"), height: tall ? 100 : 48 });
  const co2 = lane(box, { name: "co2_mmhg", label: word("prepare.co2"), height: tall ? 110 : 48, axis: tall, last: "s" });
  return {
    /** curves: as the server gives them; values: of the steady breath, or what is expected with its spread. */
    show(curves, settings, values) {
      const at = curves.time_s;
      const band = (told) => (told && typeof told === "object" ? [told.low, told.high].map((end) => Array(at.length).fill(end)) : [null, null]);
      const [lowPeak, highPeak] = band(values.peak_pressure_cmh2o);
      const [lowCo2, highCo2] = band(values.etco2_mmhg);
      pressure.draw({ at, trace: curves.pressure_cmh2o, low: lowPeak, high: highPeak, set: [settings.pressure_limit_cmh2o, settings.peep_cmh2o] });
      flow.draw({ at, trace: curves.flow_l_s, set: [settings.tidal_volume_l / settings.inspiratory_time_s] });
      co2.draw({ at, trace: curves.co2_mmhg, low: lowCo2, high: highCo2 });
      const peak = Math.max(...curves.pressure_cmh2o);
      pressure.tell(peak, `${word("prepare.pressure_limit_cmh2o")} ${textOf("pressure_cmh2o", settings.pressure_limit_cmh2o)}`);
      flow.tell(Math.max(...curves.flow_l_s));
      co2.tell(plain(values.etco2_mmhg));
    },
  };
}

const COURSE = [
  ["peak_pressure_cmh2o", ({ settings }) => [settings.pressure_limit_cmh2o]],
  ["etco2_mmhg", () => []],
  ["paco2_mmhg", ({ profile }) => [profile.paco2_low_mmhg, profile.paco2_high_mmhg]],
  ["fio2_fraction", ({ profile }) => [profile.circle_oxygen_fraction]],
  ["pao2_mmhg", ({ profile }) => [profile.least_pao2_mmhg]],
  ["mac_multiple", ({ profile }) => [profile.mac_multiple]],
  ["map_mmhg", ({ profile }) => [profile.least_map_mmhg]],
  ["lowest_reservoir_l", ({ settings }) => [settings.spare_volume_l]],
];

/** Lanes of the course. minute: the slider that says which minute is read; told: where it is written. */
export function courseLanes(box, minute, told) {
  const made = COURSE.map(([name], i) => lane(box, {
    name, label: word(`prepare.lane_${name}`), height: 84, axis: i === COURSE.length - 1, last: "min",
  }));
  let minutes = null;
  let plan = null;
  let spread = null;

  function draw() {
    COURSE.forEach(([name, set], i) => {
      const band = spread?.values[name];
      const at = minutes.at_min;
      const fitted = (line) => line && at.map((_, place) => line[place] ?? null);
      made[i].draw({ at, trace: minutes[name], low: fitted(band?.low), high: fitted(band?.high), set: set(plan) });
    });
  }

  function read() {
    if (!minutes) return;
    const place = Math.min(Number(minute.value), minutes.at_min.length) - 1;
    told.textContent = textOf("at_min", minutes.at_min[place]);
    minute.setAttribute("aria-valuetext", told.textContent);
    COURSE.forEach(([name], i) => {
      const band = spread?.values[name];
      const range = band ? `${textOf(name, band.low[place], { unit: false })} – ${textOf(name, band.high[place])}` : "";
      made[i].tell(minutes[name][place], range);
      made[i].mark(minutes.at_min[place]);
    });
  }
  minute.addEventListener("input", read);

  return {
    show(columns, nowPlan, bands) {
      [minutes, plan, spread] = [columns, nowPlan, bands];
      minute.max = columns.at_min.length;
      draw();
      read();
    },
    bands(found) {
      spread = found;
      draw();
      read();
    },
  };
}
