// A lane: one quantity over time. Dashed, what is set or wanted; shaded, what is expected; a line, what the simulated
// animal does; and its number now, inside the lane.
import uPlot from "/static/packed/uplot.js";
import { textOf, toRead } from "./measures.js";

const AXIS_PX = 52;
const NAMES = ["--ink", "--quiet", "--hair", "--band", "--set", "--measured"];
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

/** Make a lane in a box. name: of the number, with its unit; label: how it is called; height in CSS px; dots: for what was measured. */
export function lane(box, { name, label, height = 110, axis = false, last = "", dots = false }) {
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
  const line = (colour, more) => ({ stroke: () => colours[colour], points: { show: false }, ...more });
  const options = {
    width: Math.max(plot.clientWidth, 200),
    height: axis ? height + 34 : height,
    legend: { show: false },
    cursor: { show: false },
    padding: [4, 30, 4, 0],
    scales: { x: { time: false }, y: { range: spread } },
    axes: [
      { show: axis, stroke: () => colours["--quiet"], grid: { stroke: () => colours["--hair"] }, ticks: { show: false }, size: 34, label: undefined, values: (u, all) => all.map((each, i) => (i === all.length - 1 && last ? `${each} ${last}` : String(each))) },
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
    ],
    bands: [{ series: [2, 1], fill: () => colours["--band"] }],
    hooks: { draw: [drawMark] },
  };
  const chart = new uPlot(options, [[0, 1], [], [], [], [], []], plot);
  plot.fitted = (width) => width > 0 && Math.abs(width - chart.width) > 1 && chart.setSize({ width, height: options.height });
  widths.observe(plot);

  function spread(u, low, high) {
    if (low === null || low === undefined) return [0, 1];
    const room = Math.max((high - low) * 0.12, Math.abs(high) * 0.02, 0.02);
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

  const readAll = (values, length) => (values ?? Array(length).fill(null)).map((each) => (each === null ? null : toRead(name, each)));
  const flat = (value, length) => (value === null || value === undefined ? null : Array(length).fill(value));
  const self = {
    element,
    /** Draw. at: places on the x axis; trace, low, high: columns; set: one or two numbers or columns. */
    draw({ at, trace, low = null, high = null, set = [] }) {
      const n = at.length;
      const lines = [0, 1].map((i) => (Array.isArray(set[i]) ? set[i] : flat(set[i], n)));
      chart.setData([at, ...[low, high, ...lines, trace].map((each) => readAll(each, n))]);
    },
    /** Write the number in the lane. value as stored; more: words behind it. */
    tell(value, more = "") {
      now.textContent = textOf(name, value);
      element.setAttribute("aria-label", `${label}: ${textOf(name, value)}${more ? `; ${more}` : ""}`);
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
