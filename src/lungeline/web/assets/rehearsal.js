// What learner and trainer see of a rehearsal alike: its clock, its lanes, and what happened.
import { ask } from "./ask.js";
import { word } from "./given.js";
import { make, put } from "./make.js";
import { nowMs, setNow } from "./now.js";
import { clockText } from "./moments.js";
import { line } from "./rehearsal-log.js";
import { notice } from "./say.js";
import { curveBoxes, drawLanes, tellAges } from "./watch-lanes.js";
import { followLive } from "./watch-live.js";

const $ = (id) => document.getElementById(id);
const DRAW_MS = 2000;
const MOST_MIN = 30;
const box = $("rehearsal");
export const id = box.dataset.id;
const place = `/api/rehearse/going/${id}`;
let told = null;
let live = { numbers: {}, trends: {} };
let drawnAt = 0;
let changed = null;

/** Ask something of this rehearsal; what is refused is said. Returns the answer, or null. */
export async function askOf(path, body) {
  try {
    return await ask(`${place}${path}`, body === undefined ? {} : { method: "POST", body });
  } catch (error) {
    notice(error.message, { kind: "problem" });
    return null;
  }
}

/** Follow it. role: whose page this is; shown: called with what is told anew; heard: with each message. */
export function followRehearsal(role, shown, heard = () => {}) {
  let [asking, again] = [false, false];
  async function load() {
    again = asking;
    if (asking) return;
    asking = true;
    const answer = await ask(`${place}${role === "trainer" ? "/trainer" : ""}`).catch(() => null);
    asking = false;
    if (again) load(); // it changed meanwhile
    if (!answer) return;
    told = answer;
    showPace(told);
    showLog(told.log);
    draw();
    shown(told);
  }
  live = followLive(`rehearse/${id}/${role}`, curveBoxes, (_, message) => {
    const state = message.rehearsal;
    if (!state) return;
    setNow(message.at * 1000, state.paused || state.over || state.waits ? 0 : state.speed);
    showPace(state);
    heard(message);
    if (changed !== state.changed && !state.over) load();
    changed = state.changed;
    tellAges();
    if (Date.now() - drawnAt > DRAW_MS) draw();
  });
  load();
  setInterval(() => {
    if (told) $("time").textContent = clockText((nowMs() - new Date(told.began)) / 1000);
    tellAges();
  }, 500);
}

function draw() {
  if (!told) return;
  drawnAt = Date.now();
  $("lanes-wait")?.remove();
  const shownKeys = new Set(told.instruments);
  for (const kind of ["numbers", "trends"]) for (const key of Object.keys(live[kind])) if (!shownKeys.has(key)) delete live[kind][key];
  drawLanes({ began: told.began, set: told.set, measured: {} }, null, live, Math.min(told.minutes, MOST_MIN));
}

let over = false;
function showPace(state) {
  if (over) return;
  $("pace").textContent = state.waits ? word("rehearse.waits") : state.paused ? word("rehearse.paused").split(":")[0] : `× ${state.speed}`;
  if ($("pause")) $("pause").textContent = word(state.paused ? "rehearse.go" : "rehearse.pause");
  document.querySelectorAll("#pause, [data-control]").forEach((button) => (button.disabled = state.waits));
  const offered = $("speed") && [...$("speed").options].find((it) => Number(it.value) === state.speed);
  if (offered && document.activeElement !== $("speed")) $("speed").value = offered.value;
  box.dataset.paused = String(state.paused);
  if (!state.over) return;
  over = true;
  $("pace").textContent = word("rehearse.over");
  $("debrief").hidden = false;
  document.querySelectorAll(".entry-panel button, .trainer button, .bar button").forEach((button) => (button.disabled = true));
}

function showLog(log) {
  put($("log"), log, () => [...log].reverse().map(line));
}

// --- the clock --------------------------------------------------------------------------------------------------

const control = (what, value) => askOf("/control", { do: what, value: value ?? null });
if ($("pause")) {
  $("pause").onclick = () => control(box.dataset.paused === "true" ? "go" : "pause");
  document.querySelectorAll("[data-control]").forEach((button) => (button.onclick = () => control(button.dataset.control, Number(button.dataset.value))));
  $("speed").onchange = () => control("speed", Number($("speed").value));
  $("end").onclick = () => confirm(word("rehearse.end_sure")) && control("end");
}
