// The next half hour of this animal under up to four choices: the one that is looked at, beside leaving it as it is.
import { ask, newest } from "./ask.js";
import { word } from "./given.js";
import { lane } from "./lane.js";
import { make, put } from "./make.js";
import { textOf } from "./measures.js";
import { clockOf, failure, filled, finding, isOpen, onOpen, working } from "./watch-why.js";

const LANES = ["paco2_mmhg", "pao2_mmhg", "peak_pressure_cmh2o", "spare_volume_l"];
const HEIGHT_PX = 92;
const MOST = 3; // beside leaving it
const LEAVE = "leave";
const $ = (id) => document.getElementById(id);

export function wireAhead({ caseId, assumed }) {
  const wanted = new Set();
  let settings = {};
  let lanes = null;
  let which = "";

  const known = newest(() => ask(`/api/cases/${caseId}/choices?assumed=${assumed()}`), ({ choices }) => {
    settings = choices;
    offer(Object.keys(choices).filter((name) => name !== LEAVE));
  }, () => {});
  const look = newest(
    async (choices) => {
      const done = working($("ahead-told"));
      try {
        return await ask(`/api/cases/${caseId}/ahead`, { method: "POST", body: { choices, assumed: assumed() } });
      } finally {
        done();
      }
    },
    show,
    (error) => $("ahead-told").replaceChildren(failure(error)),
  );
  $("ahead-look").onclick = () => look([LEAVE, ...wanted]);

  /** What each choice would set, in words. */
  function named(name) {
    const set = Object.entries(settings[name] ?? {}).filter(([, value]) => typeof value === "number").map(([key, value]) => textOf(key, value));
    return [word(`why.${name}`), ...set].join(" → ");
  }

  function offer(names) {
    for (const name of [...wanted]) if (!names.includes(name)) wanted.delete(name);
    for (const name of names) if (!wanted.size || (wanted.size < MOST && !$("ahead-choices").dataset.offered)) wanted.add(name);
    $("ahead-choices").dataset.offered = "yes";
    const [legend] = $("ahead-choices").children;
    const boxes = names.map((name) => {
      const input = make("input", { type: "checkbox", value: name, checked: wanted.has(name) });
      input.onchange = () => {
        wanted[input.checked ? "add" : "delete"](name);
        limit();
      };
      return make("label", {}, input, make("span", { textContent: named(name) }));
    });
    put($("ahead-choices"), [names, settings], () => [legend, ...boxes]);
    limit();
  }

  function limit() {
    $("ahead-choices").querySelectorAll("input").forEach((input) => (input.disabled = !input.checked && wanted.size >= MOST));
    $("ahead-look").disabled = !wanted.size;
  }

  function show(told) {
    const notes = told.choices.flatMap((it) => it.notes).map((it) => finding(it));
    const until = told.until ? [make("p", { className: "quiet", textContent: filled("why.fitted_until", { well: clockOf(told.until) }) })] : [];
    $("ahead-told").replaceChildren(...until, ...notes);
    const others = told.choices.filter((it) => it.name !== LEAVE);
    const leave = told.choices.find((it) => it.name === LEAVE);
    if (!others.some((it) => it.name === which)) which = others[0]?.name ?? "";
    const [legend] = $("ahead-which").children;
    $("ahead-which").replaceChildren(legend, ...others.map((it) => {
      const input = make("input", { type: "radio", name: "ahead-which", value: it.name, checked: it.name === which });
      input.onchange = () => {
        which = it.name;
        drawAll(leave, it);
      };
      return make("label", {}, input, make("span", { textContent: named(it.name) }));
    }));
    $("ahead-shown").hidden = false;
    drawAll(leave, others.find((it) => it.name === which) ?? leave);
  }

  function drawAll(leave, chosen) {
    lanes ??= new Map(LANES.map((key, place) => {
      const it = lane($("ahead-lanes"), { name: key, label: `${word(`why.q_${key}`)} ${word("why.in_half_an_hour")}`, height: HEIGHT_PX, axis: place === LANES.length - 1, last: "min", leastShare: 0.2 });
      it.beside = make("span", { className: "beside" });
      it.element.append(it.beside);
      return [key, it];
    }));
    for (const [key, it] of lanes) {
      const band = chosen.bands[key];
      const left = leave.bands[key];
      if (!chosen.possible || !band) {
        it.tell(null);
        it.beside.textContent = word("why.not_possible");
        it.draw({ at: leave.at_min, trace: null, set: left ? [left.middle] : [] });
        continue;
      }
      const end = (line) => line.at(-1);
      const range = `${textOf(key, end(band.low), { unit: false })}–${textOf(key, end(band.high), { unit: false })}`;
      const other = left ? `${word("why.if_left")} ${textOf(key, end(left.middle))}` : "";
      it.tell(end(band.middle), `${range}; ${other}`);
      it.beside.textContent = `${range} · ${other}`;
      it.draw({ at: chosen.at_min, trace: band.middle, low: band.low, high: band.high, set: left ? [left.middle] : [] });
    }
  }

  onOpen(() => known(true));
  return { told: () => isOpen() && known(true) };
}
