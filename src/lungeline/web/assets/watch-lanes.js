// The lanes of the running case: set, expected band, measured dots, what is measured live, and the number now.
import { given, word } from "./given.js";
import { lane } from "./lane.js";
import { make, put } from "./make.js";
import { textOf } from "./measures.js";
import { nowMs } from "./now.js";

// measured; the setting beside it, and what one of its units is in the lane's; the curve that shows it live
const LANES = [
  ["peak_pressure_cmh2o", "pressure_limit_cmh2o", 1, "pressure_cmh2o"],
  ["tidal_volume_expired_l", "tidal_volume_l", 1, "flow_l_s"],
  ["etco2_mmhg", null, 1, "co2_mmhg"],
  ["fio2_fraction", "fresh_gas_oxygen_fraction", 1, "oxygen_fraction"],
  ["spo2_fraction", null],
  ["end_tidal_agent_fraction", "vaporiser_percent", 0.01],
  ["map_mmhg", null],
  ["heart_rate_per_min", null],
  ["spare_volume_l", "spare_volume_l", 1],
];
export const CURVES = LANES.filter((each) => each[3]).map((each) => each[3]);
const LEAST_SHARE = 0.3; // of a value that a lane's height shows at least
const THIN_PX = 40;
const TALL_PX = 108;
const AHEAD_MIN = 5;
const LEAST_MIN = 30;
const JUST_BEFORE = 0.001; // so that a step is drawn upright
const [LEFT_PX, RIGHT_PX] = [52, 30]; // of the plot beside its lines, as lane.js has it
const TICK_PX = 56; // that a time of the clock takes
const TICKS_MIN = [5, 10, 15, 30, 60, 120];
const LIVE_OLD_S = 20; // a number of a feed that is older is told with its age
const made = new Map();
const box = document.getElementById("lanes");
let axis = null;
let shown = null;

/** Draw all lanes. told: the watched case; expected: bands, or null; live: [ms, value] of each number by key; windowMin: how much of it. */
export function drawLanes(told, expected, live, windowMin) {
  const began = new Date(told.began).getTime();
  const minute = (ms) => (ms - began) / 60000;
  const end = Math.max(minute(nowMs()) + AHEAD_MIN, Math.min(LEAST_MIN, windowMin));
  const view = { told, expected, minute, end, begin: Math.max(0, end - windowMin) };
  shown = { told, live, minute };
  for (const [key, setting, factor, curve] of LANES) {
    const points = usable(told, key);
    const line = (live.trends[key] ?? []).map(([at, value]) => [minute(at), value]);
    const steps = (told.set[setting] ?? []).map(([at, value]) => [at, value * factor]);
    draw(theLane(key, !points.length && !line.length, curve), key, { points, line, steps }, view);
  }
  if (!axis) {
    axis = make("div", { className: "times" });
    axis.setAttribute("aria-hidden", "true");
    box.append(axis);
  }
  drawTimes(view, began);
  tellAges();
}

/** What was measured of a number, artefacts left out: they are kept, and not used. */
const usable = (told, key) => (told.measured[key] ?? []).filter(([, , marks]) => !marks.includes("a"));

/** The lane of a number; thin where nothing was measured. */
function theLane(key, thin, curve) {
  const there = made.get(key);
  if (there?.thin === thin) return there;
  const it = lane(box, { name: key, label: word(`watch.lane_${key}`), height: thin ? THIN_PX : TALL_PX, dots: true, leastShare: key === "spo2_fraction" ? 0.1 : LEAST_SHARE });
  it.thin = thin;
  it.age = make("span", { className: "age" });
  it.element.append(it.age);
  it.element.classList.toggle("thin", thin);
  if (there) there.element.replaceWith(it.element);
  made.set(key, it);
  if (curve && !thin) {
    it.curve = make("canvas", { className: "curve", hidden: true, dataset: { channel: curve } });
    it.curve.setAttribute("aria-hidden", "true");
    it.element.append(it.curve);
  }
  return it;
}

function draw(it, key, { points, line, steps }, { expected, told, begin, end }) {
  const band = expected?.values[key];
  const shift = expected ? (new Date(expected.began) - new Date(told.began)) / 60000 : 0;
  const bandAt = band ? expected.at_min.map((at) => at + shift) : [];
  const inside = (at) => at >= begin && at <= end;
  const places = new Set([begin, end]);
  for (const [at] of [...points, ...line, ...steps]) places.add(at);
  for (const [at] of steps) places.add(at - JUST_BEFORE);
  for (const at of bandAt) places.add(at);
  const at = [...places].filter(inside).sort((a, b) => a - b);
  const [low, high] = band ? [along(bandAt, band.low, at), along(bandAt, band.high, at)] : [null, null];
  const [typed, measured] = [new Map(points), new Map(line)];
  const flags = band ? points.filter(([when, value]) => inside(when) && isOut(bandAt, band, when, value)) : [];
  it.draw({
    at, low, high, flags,
    trace: at.map((when) => typed.get(when) ?? null),
    live: line.length ? at.map((when) => measured.get(when) ?? null) : null,
    set: [held(steps, at)],
  });
  it.band = band ? (when) => [along(bandAt, band.low, [when])[0], along(bandAt, band.high, [when])[0]] : null;
}

/** Values of a line at sorted places, null beyond its ends or beside what is missing. */
function along(times, values, places) {
  let next = 0;
  return places.map((place) => {
    while (next < times.length && times[next] < place) next += 1;
    if (next === times.length) return null;
    if (times[next] === place) return values[next];
    if (next === 0 || values[next - 1] === null || values[next] === null) return null;
    const share = (place - times[next - 1]) / (times[next] - times[next - 1]);
    return values[next - 1] + (values[next] - values[next - 1]) * share;
  });
}

/** What was set, at sorted places. */
function held(steps, places) {
  let next = 0;
  let value = null;
  return places.map((place) => {
    while (next < steps.length && steps[next][0] <= place) value = steps[next++][1];
    return value;
  });
}

function isOut(times, band, at, value) {
  const [low] = along(times, band.low, [at]);
  const [high] = along(times, band.high, [at]);
  return low !== null && high !== null && (value < low || value > high);
}

/** The clock's times under the lanes. */
function drawTimes({ begin, end }, began) {
  // before it is laid out, about what it has beside curves
  const room = (axis.lastChild?.clientWidth || box.clientWidth / 2) - LEFT_PX - RIGHT_PX;
  const step = TICKS_MIN.find((each) => (end - begin) / each <= room / TICK_PX) ?? TICKS_MIN.at(-1);
  const first = Math.ceil((began / 60000 + begin) / step) * step;
  const minutes = [];
  for (let at = first; at - began / 60000 <= end; at += step) minutes.push(at);
  put(axis, [minutes, begin, end], () => [make("span", { className: "room" }), make("div", { className: "along" }, ...minutes.map((at) => {
    const tick = make("span", { textContent: new Date(at * 60000).toLocaleTimeString(given.view.language, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" }) });
    const share = (at - began / 60000 - begin) / (end - begin);
    tick.style.left = `calc(${LEFT_PX}px + (100% - ${LEFT_PX + RIGHT_PX}px) * ${share.toFixed(4)})`;
    return tick;
  }))]);
}

/** Write each number with its age; touches the page only where that changed. */
export function tellAges() {
  if (!shown) return;
  const { told, live, minute } = shown;
  const now = minute(nowMs());
  for (const [key, it] of made) {
    const last = usable(told, key).at(-1);
    const current = live.numbers[key];
    const isLive = current !== undefined && (!last || minute(current[0]) >= last[0]);
    const [at, value] = isLive ? [minute(current[0]), current[1]] : last ?? [null, null];
    const [low, high] = at === null || !it.band ? [null, null] : it.band(at);
    const out = low !== null && high !== null && (value < low || value > high);
    it.tell(value, out ? word("watch.outside") : "");
    if (it.element.dataset.out !== String(out)) it.element.dataset.out = String(out);
    const range = out ? `◆ ${word("watch.expected")} ${textOf(key, low, { unit: false })}–${textOf(key, high)}` : "";
    const seconds = (now - at) * 60;
    const estimated = !isLive && last?.[2].includes("e") ? word("watch.estimated") : "";
    const age = at === null ? word("watch.not_measured") : isLive && seconds < LIVE_OLD_S ? word("watch.live") : seconds < 60 ? word("watch.just_now") : `${Math.floor(now - at)} min`;
    const text = [age, estimated, range].filter(Boolean).join(" · ");
    if (it.age.textContent !== text) it.age.textContent = text;
  }
}

/** The canvases of the curves, by channel. */
export const curveBoxes = () => new Map([...made.values()].filter((it) => it.curve).map((it) => [it.curve.dataset.channel, it.curve]));
