// What is measured live: numbers, and curves that a sweep draws from left to right, only what is new.
import { word } from "./given.js";
import { keepOpen } from "./socket.js";

const SHOWN_S = 20;
const SILENT_MS = 1000;
// of the height of a curve at least, so that a heart-beat at rest does not fill it
const LEAST_SPAN = { pressure_cmh2o: 6, flow_l_s: 1, co2_mmhg: 10, oxygen_fraction: 0.1 };
const BELOW_ZERO = 0.05; // of the height, where nothing is below
const BLANK_S = 0.6; // ahead of the sweep
const NO_FEED = 4404;
const TREND_MOST = 480;
const TREND_EVERY_MS = 15000;
const state = document.getElementById("live-state");
const curves = new Map();
let rate = 50;
let epoch = "";
let next = 0; // index of the sample that comes next
let silent = null;
let wired = false;
const live = { numbers: {}, trends: {} };

/** Follow what is measured live. place: of the socket; changed: called when numbers came; boxes: gives the canvases by channel; ended: called where nothing is any more. */
export function followLive(place, boxes, changed, ended = () => {}) {
  keepOpen(`/ws/${place}`, (message) => {
    take(message, boxes());
    if (Object.keys(message.numbers).length || message.type === "hello" || message.rehearsal) changed(live, message);
  }, { refused: [NO_FEED], ended });
  if (wired) return live;
  wired = true;
  document.addEventListener("visibilitychange", () => document.hidden || redrawAll());
  new MutationObserver(redrawAll).observe(document.documentElement, { attributes: true, attributeFilter: ["data-theme"] });
  silence();
  return live;
}

function take(message, boxes) {
  if (epoch && message.epoch !== epoch) forgetAfter(message.at * 1000);
  for (const [key, line] of Object.entries(message.trends ?? {})) live.trends[key] = line.map(([at, value]) => [at * 1000, value]);
  for (const [key, [at, value]] of Object.entries(message.numbers)) {
    live.numbers[key] = [at * 1000, value];
    const line = (live.trends[key] ??= []);
    if (!line.length || at * 1000 - line.at(-1)[0] >= TREND_EVERY_MS) line.push([at * 1000, value]);
    if (line.length > TREND_MOST) line.shift();
  }
  if (message.rehearsal?.paused || message.rehearsal?.over) stands(message.rehearsal);
  if (!message.count) return;
  heard();
  rate = message.rate_hz;
  const anew = message.epoch !== epoch || message.from > next;
  for (const [channel, values] of Object.entries(message.curves)) {
    const curve = curves.get(channel) ?? new Curve(LEAST_SPAN[channel]);
    curves.set(channel, curve);
    if (anew) curve.clear();
    curve.add(anew ? message.from : Math.max(message.from, next), values.slice(anew ? 0 : Math.max(next - message.from, 0)));
    curve.into(boxes.get(channel));
  }
  [epoch, next] = [message.epoch, message.from + message.count];
}

/** Time was turned back: what was measured after that moment never was. */
function forgetAfter(at) {
  for (const [key, line] of Object.entries(live.trends)) live.trends[key] = line.filter(([when]) => when <= at);
  for (const [key, [when]] of Object.entries(live.numbers)) if (when > at) delete live.numbers[key];
}

/** A rehearsal that stands still is not a lost signal. */
function stands({ over }) {
  clearTimeout(silent);
  write(word(over ? "rehearse.over" : "rehearse.paused"), "stands");
}

function heard() {
  clearTimeout(silent);
  silent = setTimeout(silence, SILENT_MS);
  write("", "heard");
}

/** No sample for a second: said in words, and the curves stand still. */
function silence() {
  write(next ? word("watch.signal_lost") : word("watch.signal_waiting"), next ? "lost" : "waiting");
}

function write(text, kind) {
  if (state.dataset.kind === kind) return;
  state.dataset.kind = kind;
  state.textContent = text;
  state.hidden = !text;
}

const redrawAll = () => curves.forEach((curve) => curve.redraw());

/** A ring of samples and its picture. */
class Curve {
  constructor(leastSpan) {
    this.leastSpan = leastSpan;
    this.ring = new Float32Array(SHOWN_S * 100).fill(NaN);
    this.end = 0;
    this.count = 0;
    [this.low, this.high] = [0, 1];
  }

  clear() {
    this.count = 0;
  }

  add(from, values) {
    const first = this.end = this.count ? this.end : from;
    const size = this.size();
    for (const value of values) {
      this.ring[this.end % size] = value;
      this.end += 1;
    }
    this.count = Math.min(this.count + values.length, size);
    if (this.canvas && !document.hidden) this.paint(first);
  }

  size() {
    return Math.round(SHOWN_S * rate);
  }

  into(canvas) {
    if (!canvas || canvas === this.canvas) return;
    this.canvas = canvas;
    canvas.hidden = false;
    this.context = canvas.getContext("2d");
    new ResizeObserver(() => this.redraw()).observe(canvas);
    this.redraw();
  }

  /** Fit the range to what is shown; returns whether it changed. */
  fit() {
    let [low, high] = [Infinity, -Infinity];
    for (let index = this.end - this.count; index < this.end; index += 1) {
      const value = this.ring[index % this.size()];
      if (value < low) low = value;
      if (value > high) high = value;
    }
    if (low > high) return false;
    const room = Math.max((high - low) * 0.1, (this.leastSpan - high + low) / 2);
    const fits = low >= this.low && high <= this.high && Math.max(high - low, this.leastSpan) > (this.high - this.low) * 0.5;
    if (fits) return false;
    [this.low, this.high] = [low >= 0 ? Math.max(low - room, -BELOW_ZERO * (high + 2 * room)) : low - room, high + 2 * room];
    return true;
  }

  redraw() {
    if (!this.context || document.hidden) return;
    const scale = devicePixelRatio;
    const { clientWidth, clientHeight } = this.canvas;
    [this.canvas.width, this.canvas.height] = [Math.max(clientWidth * scale, 1), Math.max(clientHeight * scale, 1)];
    this.fit();
    this.stroke(this.end - this.count);
  }

  paint(first) {
    if (this.fit()) this.redraw();
    else this.stroke(first);
  }

  stroke(first) {
    const { context, canvas } = this;
    const size = this.size();
    const x = (index) => ((index % size) / size) * canvas.width;
    const y = (index) => canvas.height * (1 - (this.ring[index % size] - this.low) / (this.high - this.low));
    const blank = (BLANK_S / SHOWN_S) * canvas.width;
    const begin = Math.max(first - 1, this.end - this.count, 0);
    const [left, right] = [x(begin), x(this.end)];
    if (this.end - begin < size) { // what the sweep passes over is wiped, and a little ahead of it
      const width = right >= left ? right - left : canvas.width - left + right;
      context.clearRect(left + 1, 0, width + blank, canvas.height);
      if (left + width + blank > canvas.width) context.clearRect(0, 0, left + width + blank - canvas.width, canvas.height);
    }
    context.strokeStyle = getComputedStyle(document.documentElement).getPropertyValue("--measured");
    context.lineWidth = 2 * devicePixelRatio;
    context.lineJoin = "round";
    context.beginPath();
    for (let index = begin; index < this.end; index += 1) {
      if (index === begin || index % size === 0) context.moveTo(x(index), y(index));
      else context.lineTo(x(index), y(index));
    }
    context.stroke();
  }
}
