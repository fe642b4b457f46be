// Prepare: asks what there is to know, shows the plan, lets every number be moved, prints and keeps it.
import { ask, Refusal } from "./ask.js";
import { word } from "./given.js";
import { enter, strike } from "./queue.js";
import { notice } from "./say.js";
import { showWhy } from "./why.js";
import { caseTables, fillForm, told } from "./prepare-form.js";
import { newTicket, progress } from "./progress.js";
import { settingsSheet } from "./prepare-settings.js";
import { breathLanes, courseLanes } from "./prepare-lanes.js";
import { ledger } from "./prepare-ledger.js";
import { follows } from "./prepare-moving.js";
import { doses } from "./prepare-drugs.js";

const start = JSON.parse(document.getElementById("start").textContent);
const by = (id) => document.getElementById(id);
const REST_MS = 900; // a hand that rests so long has found its number: the whole plan is made anew
const open = { key: null, plan: null, asked: {}, choices: [], profile: "", tables: null, run: 0 };

const working = progress(by("working"), by("working-words"), by("working-bar"));
const sheet = settingsSheet(by("settings"), { moved, released });
const breath = breathLanes(by("breath"));
const course = courseLanes(by("course"), by("minute"), by("minute-told"));
const spare = ledger(by("ledger"), by("manoeuvres"));
const moving = follows({ open, sheet, breath, course, spare, told: by("moved") });
const drugs = doses(by("rest"), { settled });

function failed(error) {
  const lost = !(error instanceof Refusal);
  by("problem-text").textContent = lost ? `${word("prepare.not_reached")} – ${word("frame.needs_connection")}` : error.message;
  by("problem").hidden = false;
  if (lost && !(error instanceof TypeError)) throw error;
}

/** Make the whole plan of what is asked for, and show it. */
async function plan({ quiet = false } = {}) {
  const run = ++open.run;
  by("problem").hidden = true;
  by("empty").hidden = true;
  by("answer").setAttribute("aria-busy", "true");
  try {
    const body = { case: wanted(), profile_toml: open.profile, doses: open.choices };
    const question = (ticket) => ask("/api/plan", { method: "POST", body: { ...body, ticket } });
    const answer = await working(word("prepare.working"), question);
    if (run !== open.run) return;
    await shown(answer, { quiet });
  } catch (error) {
    if (run !== open.run) return;
    if (error instanceof Refusal && error.parts.code === "stopped") rest(); // a question before it came late
    else failed(error);
  } finally {
    if (run === open.run) by("answer").removeAttribute("aria-busy");
  }
}

function wanted() {
  const tables = { ...open.tables, settings: { ...open.tables.settings, ...open.asked } };
  return start.title ? { ...tables, title: start.title } : tables;
}

async function shown(answer, { quiet }) {
  Object.assign(open, { key: answer.key, plan: answer.plan });
  by("answer").hidden = false;
  moving.settle(answer);
  sheet.show(answer, open.asked);
  breath.show(answer.curves, answer.plan.settings, answer.plan.expected);
  course.show(answer.minutes, answer.plan, null);
  spare.show(answer.plan.settings, answer.minutes, answer.plan.spare, answer.plan.case.equipment);
  by("prints").querySelectorAll("a").forEach(point);
  await readable(answer.key);
  if (!quiet) {
    by("question").open = false;
    by("answer-title").focus();
  }
  document.dispatchEvent(new CustomEvent("lungeline:planned", { detail: { key: answer.key } }));
  bands(answer.key);
}

/** Fetch what is read of the plan, and put it in place; what somebody had opened stays open. */
async function readable(key) {
  const page = await fetch(`/prepare/plan/${key}/`, { credentials: "same-origin" });
  if (!page.ok) throw new TypeError("the plan was not reached");
  const parts = new DOMParser().parseFromString(await page.text(), "text/html");
  const opened = [...by("rest").querySelectorAll("details.use[open]")].map((each) => each.dataset.use);
  for (const part of parts.querySelectorAll("[data-part]")) by(part.dataset.part).replaceChildren(...part.childNodes);
  if (opened.length) {
    by("rest").querySelectorAll("details.use").forEach((each) => { each.open = opened.includes(each.dataset.use); });
  }
}

async function bands(key) {
  by("band-told").textContent = word("prepare.bands_working");
  try {
    const told_ = await ask(`/api/plan/bands?key=${key}&ticket=${newTicket()}`);
    if (key !== open.key || moving.busy()) return;
    course.bands(told_);
    by("band-told").textContent = `${word("prepare.bands_told")} (${told_.animals})`;
  } catch (error) {
    if (key === open.key && !moving.busy()) by("band-told").textContent = word("prepare.bands_missing");
  }
}

const point = (link) => {
  link.href = `/api/plan/pdf/${link.dataset.sheet}?key=${open.key}&paper=${by("paper").value}`;
};
by("paper").onchange = () => by("prints").querySelectorAll("a").forEach(point);

let resting;
function moved(name, value) {
  open.asked[name] = value;
  open.run += 1; // a plan on its way is of what was set before
  by("band-told").textContent = word("prepare.bands_moving");
  moving.ask();
  rest();
}

/** Make the whole plan once the hand has rested. */
function rest() {
  clearTimeout(resting);
  resting = setTimeout(() => plan({ quiet: true }), REST_MS);
}

function released(name) {
  delete open.asked[name];
  clearTimeout(resting);
  plan({ quiet: true });
}

/** Take over what was settled of a dose; the plan is the same, so that this is quick. */
async function settled(choice) {
  const others = open.choices.filter((each) => each.drug !== choice.drug || each.use !== choice.use);
  const body = { case: wanted(), profile_toml: open.profile, doses: [...others, choice] };
  const answer = await ask("/api/plan", { method: "POST", body });
  open.choices = body.doses;
  Object.assign(open, { key: answer.key, plan: answer.plan });
  by("prints").querySelectorAll("a").forEach(point);
  await readable(answer.key);
}
drugs.known(() => open.choices);

/** Say where a number comes from; a plan the server let go of is made again first. */
async function why(name, label) {
  const question = () => ask(`/api/plan/why?key=${open.key}&name=${encodeURIComponent(name)}`);
  try {
    if (moving.busy()) { // what is seen is of a number just moved: its reason is in the plan made of it
      clearTimeout(resting);
      await plan({ quiet: true });
    }
    const answer = await question().catch(async (error) => {
      if (!(error instanceof Refusal) || error.parts.where !== "plan") throw error;
      await plan({ quiet: true });
      return question();
    });
    showWhy({ ...answer, label });
  } catch (error) {
    notice(error instanceof Refusal ? error.message : `${word("frame.why")} ${word("frame.needs_connection")}`, { kind: "problem" });
  }
}

document.getElementById("content").addEventListener("click", (event) => {
  const button = event.target.closest("[data-why]");
  if (button) why(button.dataset.why, button.dataset.label);
});

by("ask").onsubmit = (event) => {
  event.preventDefault();
  const tables = caseTables(by("ask"), start.known);
  if (!tables) return;
  Object.assign(open, { tables, asked: {}, choices: [] });
  by("question-told").textContent = told(by("ask"));
  plan();
};
by("again").onclick = () => (open.tables ? plan() : by("ask").requestSubmit());
by("profile").onchange = async () => {
  open.profile = (await by("profile").files[0]?.text()) ?? "";
};

if (start.case) {
  by("keep").onclick = async () => {
    by("keep").disabled = true;
    try {
      const body = await ask(`/api/plan/body?key=${open.key}`);
      const uid = await enter(start.case, "plan", body, {
        onSaved: (entry) => {
          notice(word("prepare.kept"), { undo: () => strike(start.case, entry.seq, word("frame.undo")) });
          document.dispatchEvent(new CustomEvent("lungeline:plan-kept", { detail: { seq: entry.seq, uid } }));
        },
      });
    } catch (error) {
      notice(error instanceof Refusal ? error.message : word("frame.needs_connection"), { kind: "problem" });
    } finally {
      by("keep").disabled = false;
    }
  };
}

fillForm(by("ask"), start.cylinders);
if (start.animal_known) by("ask").requestSubmit();
