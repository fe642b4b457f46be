// The check: which machine, and its four parts. The part and the machine stay chosen when the page is loaded again.
import { ask } from "./ask.js";
import { startLeak } from "./check-leak.js";
import { startLung } from "./check-lung.js";
import { startMachines } from "./check-machines.js";
import { button, chooseMachine, machineName, onMachine, problemBox, register } from "./check-parts.js";
import { startWalk } from "./check-walk.js";
import { word } from "./given.js";

const PARTS = ["walk", "leak", "lung", "machines"];
const $ = (id) => document.getElementById(id);
let named = [];

// --- parts -------------------------------------------------------------------------------------------------------

export function showPart(part, { focus = false } = {}) {
  for (const each of PARTS) {
    $(each).hidden = each !== part;
    $(`tab-${each}`).setAttribute("aria-selected", String(each === part));
    $(`tab-${each}`).tabIndex = each === part ? 0 : -1;
  }
  history.replaceState(null, "", `#${part}`);
  if (focus) $(`tab-${part}`).focus();
  document.dispatchEvent(new CustomEvent("lungeline:part", { detail: part }));
}

PARTS.forEach((part, place) => {
  $(`tab-${part}`).onclick = () => showPart(part);
  $(`tab-${part}`).onkeydown = ({ key }) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[key];
    if (step) showPart(PARTS[(place + step + PARTS.length) % PARTS.length], { focus: true });
  };
});
document.addEventListener("lungeline:show-part", ({ detail }) => showPart(detail, { focus: true }));

// --- which machine -----------------------------------------------------------------------------------------------

function showWhich(chosen) {
  $("which").replaceChildren(...named.map((name) =>
    button(name, () => {
      $("other").value = "";
      chooseMachine(name);
    }, { ariaPressed: String(name === chosen) })));
  if (!named.length) $("which").replaceChildren(word("check.none"));
  if (chosen && !named.includes(chosen) && document.activeElement !== $("other")) $("other").value = chosen;
  $("about-machine").textContent = chosen
    ? named.includes(chosen) ? "" : `${chosen}: ${word("check.not_registered")}`
    : word("check.choose_first");
}
$("other").onchange = () => chooseMachine($("other").value.trim());

async function listMachines() {
  try {
    const { machines, fields } = await ask("/api/check/machines");
    named = machines.map((it) => it.name);
    register(named);
    chooseMachine(!machineName() && named.length === 1 ? named[0] : machineName());
    return { machines, fields };
  } catch (error) {
    $("which").replaceChildren(problemBox(error));
    throw error;
  }
}

onMachine(showWhich);
startWalk($("walk"));
startLeak($("leak"));
startLung($("lung"));
startMachines($("machines"), listMachines);
showPart(PARTS.includes(location.hash.slice(1)) ? location.hash.slice(1) : "walk");
