// The running case: what is told about it, shown; what is done to it, entered. Works on without a connection.
import { ask } from "./ask.js";
import { given, word } from "./given.js";
import { make } from "./make.js";
import { ledger } from "./prepare-ledger.js";
import { follow } from "./socket.js";
import { wireSound } from "./sound.js";
import { wireTabs } from "./tabs.js";
import { showClock, tick } from "./watch-clock.js";
import { kinds, setNeeds, showDrugs } from "./watch-forms.js";
import { curveBoxes, drawLanes, tellAges } from "./watch-lanes.js";
import { followLive } from "./watch-live.js";
import { note } from "./watch-notes.js";
import { wireAhead } from "./watch-ahead.js";
import { wireAnimal } from "./watch-animal.js";
import { wireCauses } from "./watch-causes.js";
import { wireNoticed } from "./watch-noticed.js";
import { wireRow } from "./watch-row.js";
import { wireSettings } from "./watch-settings.js";

const caseId = document.body.dataset.case;
const $ = (id) => document.getElementById(id);
const LOOK_MS = 60000;
const DRAW_LIVE_MS = 5000;
const SLOW_MS = 1000; // after which it is said that something is reckoned
const ASSUMED = `lungeline-assumed-${caseId}`; // that usual values serve, as agreed on this device
let told = null;
let expected = null;
let live = { numbers: {}, trends: {} };
let reckoned = null;
let asking = false;
let askAgain = false;
let windowMin = 120;


// --- parts ---------------------------------------------------------------------------------------------------

const assumed = () => localStorage.getItem(ASSUMED) === "yes";
const ranges = Object.fromEntries(kinds.reading.fields.filter((field) => field.kind === "number").map((field) => [field.key, [field.low, field.high]]));
const row = wireRow({ fields: $("row-fields"), save: $("row-save"), marks: [$("estimated"), $("artefact")], takeLive: $("row-live"), ranges });
const settings = wireSettings({ previewAt: `/api/cases/${caseId}/preview`, fields: $("set-fields"), modes: $("set-modes"), preview: $("preview"), save: $("set-save"), note, assumed });
const spare = ledger($("ledger"), $("manoeuvre-choices"), [[0, "watch.each_minute"]]);
const why = [wireNoticed, wireCauses, wireAnimal, wireAhead].map((wire) => wire({ caseId, assumed }));
wireTabs("row");
wireSound($("sound-test"), $("mute"), $("muted"));

$("window").onchange = (event) => {
  windowMin = Number(event.target.value) || Infinity;
  draw();
};

$("assume").onclick = () => {
  localStorage.setItem(ASSUMED, "yes");
  reckoned = null;
  reckon();
  showAssumed();
};

function showAssumed() {
  const agreed = assumed();
  $("no-plan").hidden = told.planned_at_all;
  $("assume").hidden = agreed;
  $("assume-told").textContent = word(agreed ? "watch.assumed" : "watch.no_plan");
}

function draw() {
  drawLanes(told, expected, live, windowMin === Infinity ? Math.max(told.now_min + 10, 30) : windowMin);
}

function showLedger(found) {
  $("ledger-part").hidden = !found;
  if (!found) return;
  setNeeds(found.manoeuvres);
  const measured = live.numbers.spare_volume_l?.[1] ?? told.latest.spare_volume_l?.value;
  const lowest = measured ?? found.lowest_l;
  const set = { tidal_volume_l: found.tidal_volume_l, spare_volume_l: found.ceiling_l - found.tidal_volume_l };
  const flows = Object.fromEntries(Object.entries(found.flows_l).map(([name, litres]) => [name, [litres]]));
  spare.show(set, { ...flows, lowest_reservoir_l: [lowest] }, found, found);
  $("ledger-from").textContent = word(measured === undefined ? "watch.lowest_expected" : "watch.lowest_measured");
}

const jump = document.querySelector(".jump");
new IntersectionObserver(([seen]) => (jump.hidden = seen.isIntersecting)).observe($("enter"));

// --- keeping up ------------------------------------------------------------------------------------------------

/** Ask for the case as it is; one question at a time, and once more where something came meanwhile. */
async function load() {
  if (asking) {
    askAgain = true;
    return;
  }
  asking = true;
  try {
    told = await ask(`/api/cases/${caseId}/watch`);
    show();
  } catch {
    // the head of the page says that the line is cut; what was told last stays, with its age
  } finally {
    asking = false;
    if (askAgain) {
      askAgain = false;
      load();
    }
  }
}

function show() {
  showClock(told);
  showDrugs(told);
  row.fill(told.latest);
  settings.fill(told);
  showAssumed();
  draw();
  showLedger(found);
  reckon();
  why.forEach((part) => part.told(told));
  if (told.live && !following) {
    following = true;
    live = followLive(`live/${caseId}`, curveBoxes, liveCame, () => (following = false));
  }
}

let following = false;
let drawnAt = 0;
let threatsSeen = "";
function liveCame(now, message) {
  live = now;
  row.live(live.numbers);
  tellAges();
  if (message.numbers.spare_volume_l) showLedger(found);
  const threats = (message.threats ?? []).join();
  if (threats !== threatsSeen) load();
  threatsSeen = threats;
  if (Date.now() - drawnAt < DRAW_LIVE_MS) return;
  drawnAt = Date.now();
  draw();
}

/** Ask for bands and ledger anew where what is set, or the hour, is another. */
let found = null;
async function reckon() {
  const wanted = JSON.stringify([told.set, told.off_times, told.off_since, Math.floor(told.now_min / 10), assumed()]);
  if (wanted === reckoned) return;
  reckoned = wanted;
  const slow = setTimeout(() => ($("reckoning").hidden = false), SLOW_MS);
  const question = `assumed=${assumed()}`;
  try {
    const [bands, spareGas] = await Promise.all(["expected", "ledger"].map((part) => ask(`/api/cases/${caseId}/${part}?${question}`)));
    if (reckoned !== wanted) return;
    if (bands.asked_anew) reckoned = null;
    else expected = bands.expected;
    found = spareGas.ledger;
    draw();
    showLedger(found);
  } catch {
    reckoned = null; // asked again with the next look
  } finally {
    clearTimeout(slow);
    $("reckoning").hidden = reckoned === wanted || reckoned === null;
  }
}

// --- beginning -------------------------------------------------------------------------------------------------

const names = JSON.parse($("drugs").textContent).map((drug) => make("option", { value: given.view.language === "de" ? drug.also[0] ?? drug.name : drug.name, label: [drug.name, ...drug.also].join(", ") }));
$("drug-names").append(...names);
follow(caseId, (seq) => {
  if (seq > told.last_seq) load();
});
told = JSON.parse($("told-first").textContent);
show();
setInterval(load, LOOK_MS);
setInterval(() => {
  tick();
  tellAges();
}, 1000);
