// This animal: what its readings have told, each with what it may be; its arterial carbon dioxide since the last gas.
import { ask, newest } from "./ask.js";
import { word } from "./given.js";
import { lane } from "./lane.js";
import { make } from "./make.js";
import { textOf } from "./measures.js";
import { clockOf, failure, filled, finding, isOpen, onOpen, working } from "./watch-why.js";

const box = document.getElementById("animal-box");
const HEIGHT_PX = 96;

export function wireAnimal({ caseId, assumed }) {
  let now = null;
  let shown = "";
  let [holder, drawn, beside] = [];
  const look = newest(
    async () => {
      const done = working(box);
      try {
        return await ask(`/api/cases/${caseId}/animal?assumed=${assumed()}`);
      } finally {
        done();
      }
    },
    show,
    (error) => {
      shown = "";
      box.replaceChildren(failure(error));
    },
  );

  /** Ask anew where something was read or set, or five minutes have gone by. */
  function refresh() {
    if (!now || !isOpen()) return;
    const wanted = JSON.stringify([now.latest, now.gases, now.set, Math.floor(now.now_min / 5), assumed()]);
    if (wanted === shown) return;
    shown = wanted;
    look(true);
  }

  function show(told) {
    const until = told.until ? [make("p", { className: "quiet", textContent: filled("why.fitted_until", { well: clockOf(told.until) }) })] : [];
    box.replaceChildren(...carbonDioxide(told.since_gas), ...until, ...numbers(told.numbers), ...told.notes.map((it) => finding(it)));
  }

  function numbers(rows) {
    if (!rows.length) return [];
    const head = make("tr", {}, ...["number", "here", "usual"].map((name) => make("th", { scope: "col", textContent: word(`why.${name}`) })));
    const lines = rows.map((it) => {
      const bare = (value) => textOf(it.name, value, { unit: false });
      const first = make("th", { scope: "row", textContent: word(`why.n_${it.name}`) });
      return make("tr", { dataset: { name: it.name } }, first, make("td", {}, make("strong", { textContent: textOf(it.name, it.value) }), ` (${bare(it.low)}–${bare(it.high)})`), make("td", { textContent: bare(it.usual) }));
    });
    return [make("table", { className: "animal" }, make("thead", {}, head), make("tbody", {}, ...lines))];
  }

  function carbonDioxide(gas) {
    if (!gas) return [make("p", { textContent: word("why.no_gas") })];
    if (!gas.now) return [make("p", { textContent: filled("why.gas_too_old", { at: clockOf(gas.at) }) })];
    const bare = (value) => textOf("paco2_mmhg", value, { unit: false });
    holder ??= make("div", { className: "ahead-lanes" });
    const it = drawn ??= lane(holder, { name: "paco2_mmhg", label: word("why.co2_since_gas"), height: HEIGHT_PX, axis: true, last: "min", dots: true, leastShare: 0.3 });
    it.tell(gas.now.middle, `${bare(gas.now.low)}–${bare(gas.now.high)}`);
    const from = `${bare(gas.now.low)}–${bare(gas.now.high)} · ${filled("why.gas_was", { at: clockOf(gas.at) })}: ${textOf("paco2_mmhg", gas.paco2_mmhg)}`;
    beside ??= it.element.appendChild(make("span", { className: "beside" }));
    beside.textContent = from;
    it.draw({ at: [0, ...gas.at_min], trace: [gas.paco2_mmhg, ...gas.at_min.map(() => null)], low: [null, ...gas.low], high: [null, ...gas.high] });
    return [holder, make("p", { className: "quiet", textContent: word("why.weighed") }), ...gas.notes.map((each) => finding(each))];
  }

  onOpen(refresh);
  return {
    told(newer) {
      now = newer;
      refresh();
    },
  };
}
