// How a rehearsal went: what counted, what harmed, everything over time with what was hidden, and what if.
import { ask } from "./ask.js";
import { word } from "./given.js";
import { lane } from "./lane.js";
import { make } from "./make.js";
import { textOf } from "./measures.js";
import { clockText } from "./moments.js";
import { called, line } from "./rehearsal-log.js";
import { notice } from "./say.js";
import { wireWhatIf } from "./what-if.js";

const $ = (id) => document.getElementById(id);
const { id, scenario, bench } = $("rehearsal").dataset;
const place = `/api/rehearse/played/${id}`;
const LANES = ["pao2_mmhg", "paco2_mmhg", "etco2_mmhg", "peak_pressure_cmh2o", "fio2_fraction", "spare_volume_l", "trapped_volume_l", "shunt_fraction", "cardiac_output_l_min", "map_mmhg", "mac_multiple"];

$("analysis").addEventListener("toggle", load, { once: true });
async function load() {
  try {
    show(await ask(place));
  } catch (error) {
    $("wait").replaceChildren(make("span", { className: "problem", textContent: error.message }));
  }
}

const how = (it) => `${word(`rehearse.how_${it.how.replaceAll(" ", "")}`)}${it.at_s === null ? "" : ` · ${clockText(it.at_s)}`}`;
const critical = (it) => make("li", { dataset: { met: it.met ? "yes" : "no" } }, `${it.says} · ${how(it)}`);
const pairs = (box, rows) => box.replaceChildren(...rows.flatMap(([name, value]) => [make("dt", { textContent: name }), make("dd", { textContent: value })]));
const number = (value) => (value === null ? "–" : textOf("", Math.round(value * 10) / 10));

function show(told) {
  $("wait").remove();
  const { outcome, timeline } = told;
  $("critical").replaceChildren(...outcome.critical_actions.map(critical));
  pairs($("times"), ["notice_s", "name_s", "treat_s", "resolve_s"].map((name) => [word(`rehearse.${name}`), outcome.times[name] === null ? word("rehearse.never") : `${Math.round(outcome.times[name])} s`]));
  pairs($("harm"), Object.entries(outcome.harm).map(([name, value]) => [word(`rehearse.${name}`), number(value)]));
  const lines = [
    ...timeline.acts,
    ...timeline.told.filter((it) => it.says).map((it) => ({ at_s: it.at_s, text: it.says, kind: "told" })),
    ...told.hands.filter((it) => !["say", "note", "mark"].includes(it.hand)).map((it) => ({ at_s: it.at_s, text: handText(it), kind: "told" })),
  ].sort((a, b) => a.at_s - b.at_s);
  const shown = lines.map(line);
  $("log").replaceChildren(...shown);
  showTrainer(told.hands);
  $("teaching").replaceChildren(...told.teaching.map((it) => make("li", {}, it.says, " ", make("span", { className: "quiet", textContent: `(${it.source})` }))));
  $("simplified").textContent = `${word("rehearse.simpler")} ${told.simplified.join(" ")}`;
  $("revealed").hidden = false;
  showLanes(timeline);
  wireWhatIf(place, lines.map((it, index) => ({ at_s: it.at_s, text: shown[index].querySelector("span").firstChild.textContent })), told, how);
}

function handText(it) {
  const [first, ...rest] = Object.entries(it.with);
  const what = it.hand === "fault" ? `${titleOf(it.with.code)} ${Math.round(it.with.severity * 100)} %` : first[0] === "key" ? called(first[1]) : [first, ...rest].map(([key, value]) => `${called(key)} ${typeof value === "number" ? textOf(key, value) : value}`).join(", ");
  return `${word("rehearse.by_trainer")}: ${word(`rehearse.hand_${it.hand}`)}: ${what}`;
}

const titleOf = (code) => document.querySelector(`[data-cause="${code}"]`)?.textContent ?? code.replaceAll("_", " ");

/** What the trainer noted, and the last mark of each behaviour. */
function showTrainer(hands) {
  const notes = hands.filter((it) => it.hand === "note");
  const marks = new Map(hands.filter((it) => it.hand === "mark").map((it) => [it.with.behaviour, it.with.rating]));
  $("noted").hidden = !notes.length && !marks.size;
  $("notes").replaceChildren(...notes.map((it) => line({ at_s: it.at_s, text: it.with.text, kind: "told" })));
  pairs($("marks"), [...marks].map(([behaviour, rating]) => [word(`rehearse.behaviour_${behaviour.replaceAll(" ", "")}`), `${rating} / 5`]));
}

function showLanes(timeline) {
  const shown = new Map(timeline.shown.map((track) => [track.key, track]));
  const hidden = new Map(timeline.hidden.map((track) => [track.key, track]));
  const there = LANES.filter((key) => shown.get(key)?.times_s.length || hidden.get(key)?.times_s.length);
  for (const key of there) {
    const [dots, inner] = [shown.get(key), hidden.get(key)];
    const it = lane($("lanes"), { name: key, label: called(key), height: 90, dots: true, axis: key === there.at(-1), last: "min", leastShare: 0.1 });
    const at = [...new Set([0, ...(dots?.times_s ?? []), ...(inner?.times_s ?? []), timeline.end_s])].filter((time) => time >= 0).sort((a, b) => a - b);
    const column = (track) => {
      const values = new Map(track?.times_s.map((time, index) => [time, track.values[index]]));
      return at.map((time) => values.get(time) ?? null);
    };
    it.draw({ at: at.map((time) => time / 60), trace: column(dots), live: column(inner) });
    it.tell((inner ?? dots).values.at(-1));
  }
}

// --- what can be done with it -----------------------------------------------------------------------------------

$("play-again").onclick = async () => {
  try {
    const begun = await ask("/api/rehearse/begin", { method: "POST", body: { scenario, bench: bench === "yes" } });
    location.href = `/rehearse/${begun.id}/`;
  } catch (error) {
    notice(error.message, { kind: "problem" });
  }
};

if ($("sign-off")) $("sign-off").onsubmit = async (event) => {
  event.preventDefault();
  const form = event.target;
  const given = Object.fromEntries(new FormData(form));
  $("signed-off").textContent = "";
  try {
    const kept = await ask(`${place}/sign-off`, { method: "POST", body: { ...given, passed: given.passed === "yes" } });
    form.reset();
    $("signed-off").textContent = `✓ ${kept.person}: ${word(`rehearse.skill_${kept.skill}`)} – ${word(kept.passed ? "rehearse.shown" : "rehearse.not_shown")} (${kept.assessor})`;
  } catch (error) {
    form.elements.pin.value = "";
    notice(error.message, { kind: "problem" });
  }
};

if ($("forget")) $("forget").onclick = async () => {
  if (!confirm(word("rehearse.forget_sure"))) return;
  try {
    await ask(place, { method: "DELETE" });
    location.href = "/rehearse/";
  } catch (error) {
    notice(error.message, { kind: "problem" });
  }
};
