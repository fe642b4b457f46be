// The lanes of the running case: set, expected band, measured dots, and the number now with its age.
import { word } from "./given.js";
import { lane } from "./lane.js";
import { textOf } from "./measures.js";

// measured key, the setting beside it
const LANES = [
  ["peak_pressure_cmh2o", "pressure_limit_cmh2o"],
  ["tidal_volume_expired_l", "tidal_volume_l"],
  ["etco2_mmhg", null],
  ["fio2_fraction", "fresh_gas_oxygen_fraction"],
  ["spo2_fraction", null],
  ["end_tidal_agent_fraction", null],
  ["map_mmhg", null],
  ["heart_rate_per_min", null],
  ["spare_volume_l", "spare_volume_l"],
];
const WINDOW_MIN = 120;
const THIN_PX = 34;
const made = new Map();

/** Draw all lanes. told: the watched case; expected: bands, or null. */
export function drawLanes(box, told, expected) {
  document.getElementById("lanes-wait")?.remove();
  for (const [key, setting] of LANES) {
    const points = told.measured[key] ?? [];
    const steps = setting ? told.set[setting] ?? [] : [];
    const band = expected?.values[key];
    const thin = !points.length;
    let it = made.get(key);
    if (!it || it.thin !== thin) {
      it?.lane.element.remove();
      it = { thin, lane: lane(box, { name: key, label: word(`watch.lane_${key}`), height: thin ? THIN_PX : 120, dots: true }) };
      made.set(key, it);
      it.lane.element.classList.toggle("thin", thin);
    }
    draw(it.lane, key, points, steps, band, told, expected);
  }
  LANES.forEach(([key]) => box.append(made.get(key).lane.element));
}

function draw(it, key, points, steps, band, told, expected) {
  const end = Math.max(told.now_min + 5, 30);
  const begin = Math.max(0, end - WINDOW_MIN);
  const shift = expected ? (new Date(expected.began) - new Date(told.began)) / 60000 : 0;
  const times = new Set([begin, end]);
  points.forEach(([at]) => times.add(at));
  steps.forEach(([at]) => [times.add(at), times.add(at - 0.001)]);
  (band ? expected.at_min : []).forEach((at) => times.add(at + shift));
  const at = [...times].filter((time) => time >= begin && time <= end).sort((a, b) => a - b);
  const exact = new Map(points.map(([time, value]) => [time, value]));
  const bandTimes = band ? expected.at_min.map((time) => time + shift) : [];
  const setAt = (time) => steps.filter(([from]) => from <= time).at(-1)?.[1] ?? null;
  const spread = (which) => at.map((time) => between(bandTimes, band[which], time));
  it.draw({
    at,
    trace: at.map((time) => exact.get(time) ?? null),
    low: band ? spread("low") : null,
    high: band ? spread("high") : null,
    set: [at.map(setAt)],
  });
  const last = points.at(-1);
  const place = band && last ? nearest(expected.at_min, last[0] - shift) : -1;
  const out = place >= 0 && band.low[place] !== null && (last[1] < band.low[place] || last[1] > band.high[place]);
  const age = last ? Math.round(told.now_min - last[0]) : null;
  it.tell(last?.[1] ?? null, out ? word("watch.outside") : "");
  it.element.dataset.out = String(Boolean(out));
  const note = it.element.querySelector(".age") ?? it.element.querySelector(".named").appendChild(Object.assign(document.createElement("span"), { className: "age" }));
  const expectedText = out ? ` · ${word("watch.expected")} ${textOf(key, band.low[place], { unit: false })}–${textOf(key, band.high[place])}` : "";
  const text = last ? `${age} min${expectedText}` : word("watch.not_measured");
  if (note.textContent !== text) note.textContent = text;
}

/** A value between two of a column, null beyond its ends or beside what is missing. */
function between(times, values, time) {
  const place = times.findIndex((each) => each >= time);
  if (place < 0) return null;
  if (times[place] === time || place === 0) return times[place] === time ? values[place] : null;
  const [low, high] = [values[place - 1], values[place]];
  if (low === null || high === null) return null;
  return low + ((high - low) * (time - times[place - 1])) / (times[place] - times[place - 1]);
}

function nearest(times, wanted) {
  if (!times.length || wanted < times[0] - 1 || wanted > times.at(-1) + 1) return -1;
  return times.reduce((best, time, place) => (Math.abs(time - wanted) < Math.abs(times[best] - wanted) ? place : best), 0);
}
