// What follows a hand on a slider: the breath at once, the two hours as soon as they are run; the newest wins.
import { ask, newest, Refusal } from "./ask.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";

const post = (path) => (body) => ask(path, { method: "POST", body });

/** Make the follower. Dispatches lungeline:redrawn on the document for each chart drawn. */
export function follows({ open, sheet, breath, course, spare, told }) {
  let busy = false;
  let shown = null;
  const drawn = (what, changed) => document.dispatchEvent(new CustomEvent("lungeline:redrawn", { detail: { what, changed } }));

  const askCourse = newest(post("/api/plan/course"), (answer, { key, changed }) => {
    if (answer.superseded || key !== open.key || !busy) return;
    course.show(answer.minutes, { ...open.plan, settings: shown ?? open.plan.settings }, null);
    spare.show(shown ?? open.plan.settings, answer.minutes, answer.spare, open.plan.case.equipment);
    drawn("course", changed);
  }, failed);

  const askBreath = newest(post("/api/plan/preview"), (answer, { key, changed }) => {
    if (answer.superseded || key !== open.key || !busy) return;
    shown = answer.settings;
    breath.show(answer.curves, answer.settings, answer.breath);
    sheet.follow(answer.settings, open.asked);
    say(answer);
    drawn("breath", changed);
    askCourse({ key, changed });
  }, failed);

  /** Say beside the numbers why one cannot be as it is set; the charts stay as they were. */
  function failed(error) {
    if (busy) lines([["stop", error instanceof Refusal ? error.message : `${word("prepare.not_reached")} – ${word("frame.needs_connection")}`]]);
  }

  function say({ moved, findings }) {
    const found = [];
    if (moved.length) {
      const steps = moved.map((each) => (typeof each.to === "number"
        ? `${word(`prepare.${each.name}`)} ${textOf(each.name, each.from)} → ${textOf(each.name, each.to)}` : `${each.name} ${each.to}`));
      found.push(["note", `${word("prepare.moved_along")}: ${steps.join("; ")}.`]);
    } else found.push(["note", word("prepare.nothing_moved")]);
    for (const each of findings) found.push([each.severity, `${each.says} ${each.do}`]);
    lines(found);
  }

  function lines(all) {
    told.replaceChildren();
    for (const [severity, text] of all) {
      const line = document.createElement("p");
      line.className = "finding";
      line.dataset.severity = severity;
      const rank = document.createElement("span");
      rank.className = "rank";
      rank.textContent = word(`prepare.rank_${severity}`);
      const says = document.createElement("span");
      says.textContent = text;
      line.append(rank, says);
      told.append(line);
    }
  }

  return {
    /** Ask what follows from all that was set by hand. */
    ask() {
      busy = true;
      askBreath({ key: open.key, changed: { ...open.asked } });
    },
    /** A whole plan is there: what was on its way counts no more. */
    settle() {
      busy = false;
      shown = null;
      if (!Object.keys(open.asked).length) told.replaceChildren();
    },
    busy: () => busy,
  };
}
