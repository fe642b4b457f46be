// The lanes of the whole case, as in print: set values as dashed steps, measured ones as marks, in the person's units.
import { word } from "./given.js";
import { labelOf, textOf, toRead } from "./measures.js";
import { clock, make } from "./record-parts.js";

const SVG = "http://www.w3.org/2000/svg";
const [LANE_PX, THIN_PX, AXIS_PX, LEFT_PX, RIGHT_PX] = [84, 26, 22, 46, 10];
const [MARK_PX, LEAST_MARK_PX, NOTE_PX] = [4.5, 1.8, 14];
const [TICK_LEAST_PX, TICKS_MIN] = [58, [5, 10, 15, 30, 60, 120, 240, 480, 1440]];
const NUMBER_PX = 9; // a digit of a mark's number
const WIDE_PX = 700; // beside, else above its lane, stands its name
const SIGNS = { dot: "●", ring: "○", square: "■", cross: "✕", diamond: "◆", plus: "+" };
const box = document.getElementById("chart");
let drawn = null;
let width = 0;

const svg = (tag, attributes = {}, ...inside) => {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...inside);
  return element;
};

/** Draw the lanes. chart: as the interface gives it. */
export function showChart(chart) {
  drawn = chart;
  draw();
}

new ResizeObserver(([{ contentRect }]) => {
  if (Math.abs(contentRect.width - width) < 2) return;
  width = contentRect.width;
  if (drawn) draw();
}).observe(box);

function draw() {
  width = box.clientWidth;
  const named = width >= WIDE_PX ? 210 : 0;
  const across = Math.max(width - named, 200);
  const view = { across, x: (minute) => LEFT_PX + (minute / drawn.minutes) * (across - LEFT_PX - RIGHT_PX) };
  if (!drawn.lanes.length) {
    box.replaceChildren(make("p", { className: "empty", textContent: word("record.no_chart") }));
    return;
  }
  box.replaceChildren(axis(view), parts(view), ...drawn.lanes.map((lane) => drawLane(lane, view)), infusions(view), marks(view), axis(view));
}

/** One row of the chart: its name, and the drawing beside or under it. */
function track(name, height, view, label, ...shapes) {
  const drawing = svg("svg", { width: view.across, height, viewBox: `0 0 ${view.across} ${height}`, role: "img", "aria-label": label }, ...shapes);
  return make("figure", { className: "track" }, make("figcaption", {}, ...name), drawing);
}

const ticks = (view) => {
  const step = TICKS_MIN.find((each) => view.x(each) - view.x(0) >= TICK_LEAST_PX) ?? TICKS_MIN.at(-1);
  const began = new Date(`${drawn.began.slice(0, 16)}:00Z`); // the clock it was told by, whatever this device's zone
  const first = (step - ((began.getUTCHours() * 60 + began.getUTCMinutes()) % step)) % step;
  const times = [];
  for (let minute = first; minute <= drawn.minutes; minute += step) {
    times.push([minute, new Date(began.getTime() + minute * 60000).toISOString().slice(11, 16)]);
  }
  return times;
};

const grid = (view, height) => ticks(view).map(([minute]) => svg("line", { class: "grid", x1: view.x(minute), x2: view.x(minute), y1: 0, y2: height }));

function axis(view) {
  const texts = ticks(view).map(([minute, text]) => svg("text", { x: view.x(minute), y: 15, "text-anchor": "middle" }, text));
  const row = track([], AXIS_PX, view, `${word("record.from")} ${clock(drawn.began)}`, ...texts);
  row.classList.add("axis");
  return row;
}

function bars(name, list, view) {
  const shapes = list.flatMap(({ from, to, text }, place) => {
    const [left, right] = [view.x(Math.max(from, 0)), view.x(to ?? drawn.minutes)];
    const y = 3 + (list.stacked ? place * THIN_PX : 0);
    const room = Math.max(right - left, 2);
    const fits = list.stacked || text.length * 8 < room;
    return [svg("rect", { class: to === null ? "bar open" : "bar", x: left, y, width: room, height: THIN_PX - 6, rx: 4 }), ...(fits ? [svg("text", { x: Math.min(left + 6, view.across - text.length * 8.5), y: y + 15 }, text)] : [])];
  });
  const height = list.stacked ? list.length * THIN_PX : THIN_PX;
  return track([make("strong", { textContent: name })], height, view, `${name}: ${list.map((it) => it.text).join(", ")}`, ...grid(view, height), ...shapes);
}

const parts = (view) => bars(word("record.part"), drawn.parts.map((it) => ({ from: it.from_min, to: it.to_min, text: word(`cases.phase_${it.phase}`) })), view);

function infusions(view) {
  if (!drawn.infusions.length) return "";
  const list = drawn.infusions.map((it) => ({ from: it.from_min, to: it.to_min, text: it.drug }));
  list.stacked = true;
  return bars(word("record.infusions"), list, view);
}

/** Drugs, events and the like by the number of their entry; numbers that would overlap stand below one another. */
function marks(view) {
  if (!drawn.marks.length) return "";
  const ends = [];
  const shapes = drawn.marks.flatMap(({ at_min: at, seq }) => {
    const x = view.x(at);
    const half = (String(seq).length * NUMBER_PX) / 2 + 2;
    let row = ends.findIndex((end) => end <= x - half);
    if (row < 0) row = ends.push(0) - 1;
    ends[row] = x + half;
    return [svg("text", { x, y: 22 + row * 18, "text-anchor": "middle" }, String(seq)), ...(row ? [] : [svg("path", { class: "event", d: `M${x} 1l4 7h-8z` })])];
  });
  const height = 12 + ends.length * 18;
  const name = [make("strong", { textContent: word("record.marks") }), make("small", { textContent: word("record.marks_why") })];
  return track(name, height, view, `${word("record.marks")}: ${drawn.marks.length}`, ...grid(view, height), ...shapes);
}

function drawLane(lane, view) {
  const key = (lane.series[0] ?? lane.steps[0]).key;
  const [low, high] = [toRead(key, lane.low), toRead(key, lane.high)];
  const y = (stored, own = key) => LANE_PX - 6 - ((toRead(own, stored) - low) / (high - low)) * (LANE_PX - 14);
  const scale = [lane.low, lane.high].map((end) => svg("text", { x: LEFT_PX - 6, y: y(end) + 5, "text-anchor": "end" }, textOf(key, end, { unit: false })));
  const gaps = drawn.gaps.map(([from, to]) => svg("rect", { class: "gap", x: view.x(from), y: 2, width: view.x(to) - view.x(from), height: LANE_PX - 4 }));
  const spans = lane.spans.map(([at, from, to]) => svg("line", { class: "span", x1: view.x(at), x2: view.x(at), y1: y(from), y2: y(to) }));
  const steps = lane.steps.map((one) => svg("path", { class: "set", d: stepPath(one.points, view, (value) => y(value, one.key)) }));
  const dots = lane.series.flatMap((one) => marksOf(one, view, (value) => y(value, one.key)));
  const label = [...lane.series, ...lane.steps].map((one) => `${one.name} ${range(one)}`).join("; ");
  return track(named(lane, key), LANE_PX, view, label, ...grid(view, LANE_PX), svg("line", { class: "grid", x1: LEFT_PX, x2: view.across, y1: LANE_PX - 1, y2: LANE_PX - 1 }), ...gaps, ...scale, ...spans, ...steps, ...dots);
}

const range = ({ key, points }) => {
  const values = points.map(([, value]) => value);
  return `${textOf(key, Math.min(...values), { unit: false })} – ${textOf(key, Math.max(...values))}, ${points.length}`;
};

/** The name of a lane, and of each mark in it with the last number it stands for. */
function named(lane, key) {
  const legend = [
    ...lane.series.map((one) => [SIGNS[one.shape], one]),
    ...lane.steps.map((one) => ["╌", one]),
  ].map(([sign, one]) => make("small", { className: sign === "╌" ? "is-set" : "" }, `${sign} ${one.name}${sign === "╌" ? `, ${word("record.set")}` : ""} `, make("b", { textContent: textOf(one.key, one.points.at(-1)[1], { unit: false }) })));
  return [make("strong", { textContent: labelOf(key) }), ...legend];
}

function stepPath(points, view, y) {
  const [first, ...rest] = points;
  const steps = rest.map(([at, value]) => `H${view.x(at)}V${y(value)}`).join("");
  return `M${view.x(Math.max(first[0], 0))} ${y(first[1])}${steps}H${view.x(drawn.minutes)}`;
}

/** The marks of a quantity, smaller where many stand close; letters beside them where there is room, those of an artefact always. */
function marksOf({ shape, points }, view, y) {
  const r = Math.min(MARK_PX, Math.max(LEAST_MARK_PX, ((view.across - LEFT_PX) / points.length) * 0.4));
  let room = -NOTE_PX;
  return points.flatMap(([at, value, note]) => {
    const x = view.x(at);
    const told = note.includes("a") || x - room >= NOTE_PX ? note : ""; // what is not to be used is never unmarked
    if (told) room = x;
    return mark(shape, x, y(value), told, r);
  });
}

/** A mark of a shape; letters beside it: e estimated, a artefact, l late, c corrected. */
function mark(shape, x, y, note, r) {
  const path = {
    square: `M${x - r} ${y - r}h${2 * r}v${2 * r}h${-2 * r}z`,
    diamond: `M${x} ${y - r - 1}l${r + 1} ${r + 1}l${-r - 1} ${r + 1}l${-r - 1} ${-r - 1}z`,
    cross: `M${x - r} ${y - r}l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}`,
    plus: `M${x - r} ${y}h${2 * r}m${-r} ${-r}v${2 * r}`,
  }[shape];
  const drawing = path ? svg("path", { class: `mark ${shape}`, d: path }) : svg("circle", { class: `mark ${shape}`, cx: x, cy: y, r });
  return note ? [drawing, svg("text", { class: "note", x: x + r + 1, y: y - r }, note)] : [drawing];
}
