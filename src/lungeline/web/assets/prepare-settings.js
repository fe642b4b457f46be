// The numbers a hand moves: each with less, more, a slider, the rule of thumb beside it, and "why?".
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { stepper } from "./stepper.js";

const NAMES = [
  "tidal_volume_l", "respiratory_rate_per_min", "inspiratory_time_s", "pressure_limit_cmh2o",
  "peep_cmh2o", "fresh_gas_flow_l_min", "vaporiser_percent", "spare_volume_l",
];

const made = (tag, className, text = "") => {
  const element = document.createElement(tag);
  element.className = className;
  element.textContent = text;
  return element;
};

/** Make the sheet. moved(name, value): a hand set a number; released(name): the plan may choose it again. */
export function settingsSheet(box, { moved, released }) {
  const rows = new Map();

  function row(name, value, [low, high, step]) {
    const label = word(`prepare.${name}`);
    const element = made("div", "setting");
    element.dataset.name = name;
    const slider = made("input", "slide");
    Object.assign(slider, { type: "range", min: low, max: high, step });
    slider.setAttribute("aria-label", label);
    const beside = made("p", "beside quiet");
    const free = made("button", "free", word("prepare.let_plan_choose"));
    free.type = "button";
    free.onclick = () => released(name);
    const told = (now) => {
      slider.value = now;
      slider.setAttribute("aria-valuetext", textOf(name, now));
    };
    const steps = stepper({
      name, label, value, step, low, high,
      changed: (now) => {
        told(now);
        asked(true);
        moved(name, now);
      },
    });
    slider.oninput = () => {
      const now = Number(slider.value);
      steps.set(now, { quiet: true });
      slider.setAttribute("aria-valuetext", textOf(name, now));
      asked(true);
      moved(name, now);
    };
    const asked = (is) => {
      free.hidden = !is;
      element.dataset.asked = is ? "yes" : "no";
    };
    const asks = made("div", "asks");
    const why = made("button", "why", word("frame.why")); // the page answers every one that carries its number's name
    why.type = "button";
    Object.assign(why.dataset, { why: `settings.${name}`, label });
    why.setAttribute("aria-label", `${word("frame.why")} ${label}`);
    asks.append(slider, why);
    const more = made("div", "more");
    more.append(beside, free);
    element.append(steps.element, asks, more);
    box.append(element);
    told(value);
    return { set: (now) => { steps.set(now, { quiet: true }); told(now); }, beside, asked, slider };
  }

  return {
    /** Show a whole plan. answer: as the server gives it; asked: what somebody set by hand. */
    show({ plan, spans, fixed }, asked) {
      const active = document.activeElement?.closest?.(".setting")?.dataset.name;
      for (const name of NAMES) {
        if (!rows.has(name)) rows.set(name, row(name, plan.settings[name], spans[name]));
        const mine = rows.get(name);
        if (name !== active) Object.assign(mine.slider, { min: spans[name][0], max: spans[name][1], step: spans[name][2] });
        mine.set(plan.settings[name]);
        mine.asked(name in asked);
        const rule = `${word("prepare.rule")} ${textOf(name, plan.rule_of_thumb[name])}`;
        mine.beside.textContent = name in asked || fixed.includes(name) ? `${word("prepare.as_asked")} · ${rule}` : rule;
      }
    },
    /** Show settings that were moved along with one somebody holds. */
    follow(settings, asked) {
      for (const name of NAMES) if (!(name in asked)) rows.get(name)?.set(settings[name]);
    },
  };
}
