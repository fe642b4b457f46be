// The learner's page of a rehearsal: settings previewed and then set, or a real machine read off; hands, looks, words.
import { ask } from "./ask.js";
import { make, put } from "./make.js";
import { askManoeuvre } from "./manoeuvres.js";
import { askOf, followRehearsal, id } from "./rehearsal.js";
import { wireBench } from "./rehearse-bench.js";
import { remind, wireSound } from "./sound.js";
import { wireTabs } from "./tabs.js";
import { wireSettings } from "./watch-settings.js";

const $ = (name) => document.getElementById(name);
const FREE = { "give drug": "drug", "tell the surgeon": "text", refuse: "text" };
const place = `/api/rehearse/going/${id}`;
wireTabs("set");
wireSound($("sound-test"), $("mute"), $("muted"));

const settings = $("set-fields") && wireSettings({
  previewAt: `${place}/preview`, fields: $("set-fields"), modes: $("set-modes"), preview: $("preview"), save: $("set-save"),
  assumed: () => false, note: (_, body) => act("set", body),
});
const bench = $("bench-fields") && wireBench({
  fields: $("bench-fields"), drives: $("bench-drives"), runs: $("bench-runs"), problem: $("bench-problem"), missing: $("bench-missing"), read: $("bench-read"), turned: $("bench-turned"), toSet: $("to-set"),
  send: (body) => ask(`${place}/bench`, { method: "POST", body }),
});
let known = {};

function act(deed, given = {}) {
  return askOf("/deeds", { deed, with: given });
}

document.querySelectorAll("[data-deed]").forEach((button) => (button.onclick = async () => {
  const { deed } = button.dataset;
  if (deed === "name the cause") {
    $("causes").showModal();
    return;
  }
  const text = FREE[deed] ? prompt(button.textContent.trim()) : "";
  if (text === null) return;
  button.dataset.busy = "true";
  await act(deed, text ? { [FREE[deed]]: text } : {});
  button.dataset.busy = "false";
}));
$("causes").onclose = () => $("causes").returnValue && act("name the cause", { cause: $("causes").returnValue });

document.querySelectorAll("[data-manoeuvre]").forEach((button) => (button.onclick = async () => {
  const given = await askManoeuvre(button.dataset.manoeuvre, button.textContent, known);
  if (given) act(button.dataset.manoeuvre, given);
}));

followRehearsal("learner", (told) => {
  known = told.settings;
  settings?.fill(told);
  bench?.fill(told.bench);
  remind(told.threats.length ? "high" : "");
  put($("threats"), told.threats, () => told.threats.map((it) => make("div", { className: "threat" }, make("strong", { textContent: `▲▲▲ ${it.says}` }), it.do)));
}, ({ rehearsal }) => rehearsal.over && remind(""));
