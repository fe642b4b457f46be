// A scenario made of a case: asked after while it is made, then shown with how far its animal lies off the readings.
import { ask } from "./ask.js";
import { word } from "./given.js";
import { make } from "./make.js";
import { textOf } from "./measures.js";
import { called } from "./rehearsal-log.js";

const POLL_MS = 700;
const box = document.getElementById("making");
const place = `/api/rehearse/from-case/${document.body.dataset.case}`;

async function look() {
  const told = await ask(place).catch((error) => ({ state: "refused", error: { message: error.message } }));
  if (told.state === "working") setTimeout(look, POLL_MS);
  else if (told.state === "made") shown(told.scenario);
  else if (told.state === "refused") refused(told.error);
}

function refused(error) {
  const text = error.message ?? `${error.where}: ${error.given} – ${error.allowed}. ${error.do}`;
  box.replaceChildren(make("p", { className: "problem", textContent: text }));
}

function shown(scenario) {
  const row = (it) => make("tr", {}, make("th", { scope: "row", textContent: called(it.key) }), ...[textOf(it.key, it.rms), textOf(it.key, it.usual_rms), String(it.readings)].map((text) => make("td", { className: "number", textContent: text })));
  const head = make("tr", {}, ...["", word("rehearse.off_own"), word("rehearse.off_usual"), word("rehearse.off_readings")].map((text) => make("th", { textContent: text })));
  box.replaceChildren(
    make("p", { className: "row" }, make("strong", { textContent: `✓ ${word("rehearse.made")}` }), ` ${scenario.title}`),
    make("p", { textContent: word("rehearse.band_why") }),
    make("div", { className: "wide-table", tabIndex: 0 }, make("table", {}, make("thead", {}, head), make("tbody", {}, ...scenario.replayed.map(row)))));
  document.getElementById("what-next").hidden = false;
}

if (box) look();
