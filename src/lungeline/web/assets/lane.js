// A lane: one quantity over time. Dashed, what is set or wanted; shaded, what is expected; a line, what the simulated
// animal does; and its number now, inside the lane.
import uPlot from "/static/packed/uplot.js";
import { labelOf, textOf, toRead } from "./measures.js";

const AXIS_PX = 52;
const NAMES = ["--ink", "--quiet", "--hair", "--band", "--set", "--measured", "--high"];
let colours = read();
const lanes = new Set();

function read() {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(NAMES.map((name) => [name, style.getPropertyValue(name).trim()]));
}

function recoloured() {
  colours = read();
  lanes.forEach((lane) => lane.redraw());
}
new MutationObserver(recoloured).observe(document.documentElement, { attributes: true, attributeFilter: ["data-theme"] });
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", recoloured);

const widths = new ResizeObserver((seen) => {
  for (const { target, contentRect } of seen) target.fitted?.(contentRect.width);
});

/** Make a lane in a box. name: of the number, with its unit; label: how it is called; height in CSS px; dots: for what was measured; leastShare: the least part of a value that the height shows, so that noise looks like noise. */
export function lane(box, { name, label, height = 110, axis = false, last = "", dots = false, leastShare = 0 }) {
  const element = document.createElement("div");
  element.className = "lane";
  element.dataset.name = name;
  element.setAttribute("role", "img");
  const caption = document.createElement("span");
  caption.className = "named";
  const [short, ...how] = label.split("; ");
  const more = document.createElement("small");
  more.textContent = how.join("; ");
  caption.append(short, " ", more);
  const now = document.createElement("span");
  now.className = "now";
  const plot = document.createElement("div");
  plot.className = "plot";
  element.append(caption, now, plot);
  box.append(element);

  let mark = null;
  let flagged = [];
  const line = (colour, more) => ({ stroke: () => colours[colour], points: { show: false }, ...more });
  const options = {
    width: Math.max(plot.clientWidth, 200),
    height: axis ? height + 34 : height,
    legend: { show: false },
    cursor: { show: false },
    padding: [8, 30, 4, 0],
    scales: { x: { time: false }, y: { range: spread } },
    axes: [
      { show: axis, stroke: () => colours["--quiet"], grid: { stroke: () => colours["--hair"] }, ticks: { show: false }, size: 34, space: 66, label: undefined, values: (u, all) => all.map((each, i) => (i === all.length - 1 && last ? `${each} ${last}` : String(each))) },
      { stroke: () => colours["--quiet"], grid: { stroke: () => colours["--hair"] }, ticks: { show: false }, size: AXIS_PX, space: 22 },
    ],
    series: [
      {},
      line("--band", { width: 0 }),
      line("--band", { width: 0 }),
      line("--set", { width: 2, dash: [8, 6] }),
      line("--set", { width: 2, dash: [8, 6] }),
      dots
        ? { stroke: () => colours["--measured"], width: 0, paths: () => null, points: { show: true, size: 11, width: 2, fill: () => colours["--measured"] } }
        : line("--measured", { width: 2.5 }),
      line("--measured", { width: 2, spanGaps: true }),
    ],
    bands: [{ series: [2, 1], fill: () => colours["--band"] }],
    hooks: { draw: [drawMark, drawFlags] },
  };
  const chart = new uPlot(options, [[0, 1], [], [], [], [], [], []], plot);
  plot.fitted = (width) => width > 0 && Math.abs(width - chart.width) > 1 && chart.setSize({ width, height: options.height });
  widths.observe(plot);

  function spread(u, low, high) {
    if (low === null || low === undefined) return [0, 1];
    const room = Math.max((high - low) * 0.12, Math.abs(high) * 0.02, 0.02, (Math.abs(high) * leastShare - (high - low)) / 2);
    return [low >= 0 && low - room < 0 ? 0 : low - room, high + room];
  }

  function drawMark(u) {
    if (mark === null) return;
    const x = Math.round(u.valToPos(mark, "x", true));
    u.ctx.save();
    u.ctx.strokeStyle = colours["--ink"];
    u.ctx.lineWidth = devicePixelRatio;
    u.ctx.beginPath();
    u.ctx.moveTo(x, u.bbox.top);
    u.ctx.lineTo(x, u.bbox.top + u.bbox.height);
    u.ctx.stroke();
    u.ctx.restore();
  }

  // what lies outside is seen by shape and size too: a diamond, larger than the dots
  function drawFlags(u) {
    const size = 9 * devicePixelRatio;
    u.ctx.save();
    u.ctx.fillStyle = colours["--high"];
    u.ctx.strokeStyle = colours["--ink"];
    u.ctx.lineWidth = 1.5 * devicePixelRatio;
    for (const [at, value] of flagged) {
      const [x, y] = [u.valToPos(at, "x", true), u.valToPos(toRead(name, value), "y", true)];
      u.ctx.beginPath();
      [[0, -size], [size, 0], [0, size], [-size, 0]].forEach(([dx, dy], i) => u.ctx[i ? "lineTo" : "moveTo"](x + dx, y + dy));
      u.ctx.closePath();
      u.ctx.fill();
      u.ctx.stroke();
    }
    u.ctx.restore();
  }

  const readAll = (values, length) => (values ?? Array(length).fill(null)).map((each) => (each === null ? null : toRead(name, each)));
  const flat = (value, length) => (value === null || value === undefined ? null : Array(length).fill(value));
  const self = {
    element,
    /** Draw. at: places on the x axis; trace, low, high, live: columns; set: one or two numbers or columns; flags: [at, value] to see. */
    draw({ at, trace, low = null, high = null, set = [], live = null, flags = [] }) {
      const n = at.length;
      const lines = [0, 1].map((i) => (Array.isArray(set[i]) ? set[i] : flat(set[i], n)));
      flagged = flags;
      chart.setData([at, ...[low, high, ...lines, trace, live].map((each) => readAll(each, n))]);
    },
    /** Write the number in the lane. value as stored; more: words behind it. */
    tell(value, more = "") {
      const text = `${label}: ${textOf(name, value)}${more ? `; ${more}` : ""}`;
      if (element.getAttribute("aria-label") === text) return;
      const unit = document.createElement("small");
      const label_ = value === null || value === undefined ? "" : labelOf(name);
      unit.textContent = label_ && ` ${label_}`;
      now.replaceChildren(textOf(name, value, { unit: false }), unit);
      element.setAttribute("aria-label", text);
    },
    /** Mark a place on the x axis. */
    mark(place) {
      mark = place;
      chart.redraw(false);
    },
    redraw: () => chart.redraw(false),
  };
  lanes.add(self);
  return self;
}
