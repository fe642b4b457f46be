// How this browser shows things; its sound; and a question before it shows the other kind of cases.
import { keepView } from "./frame.js";
import { given } from "./given.js";
import { textOf } from "./measures.js";
import { wireSound } from "./sound.js";

const BACK_TO = "lungeline-settings-at"; // which choice had the focus before the page came anew
const EXAMPLE = { weight_kg: 512.5, map_mmhg: 72, peak_pressure_cmh2o: 27, temperature_c: 36.6 };

function showExample() {
  const texts = Object.entries(EXAMPLE).map(([name, stored]) => textOf(name, stored));
  document.getElementById("example").textContent = texts.join(" · ");
}

document.querySelectorAll("input[data-view]").forEach((input) => {
  input.onchange = () => {
    keepView({ [input.dataset.view]: input.value });
    if (input.dataset.view === "theme") document.documentElement.dataset.theme = given.view.theme;
    if (input.dataset.view !== "language") return showExample();
    sessionStorage.setItem(BACK_TO, input.value);
    location.reload(); // every word comes anew
  };
});

const back = sessionStorage.getItem(BACK_TO);
sessionStorage.removeItem(BACK_TO);
if (back) document.querySelector(`input[name=language][value="${CSS.escape(back)}"]`)?.focus();

const dialog = document.getElementById("ask");
const form = document.getElementById("side");
form?.querySelector("button").addEventListener("click", (event) => {
  event.preventDefault();
  document.getElementById("ask-head").textContent = event.currentTarget.dataset.ask;
  document.getElementById("ask-yes").onclick = () => form.submit();
  document.getElementById("ask-no").onclick = () => dialog.close();
  dialog.showModal();
});

wireSound(document.getElementById("sound"), document.getElementById("mute"), document.getElementById("muted"));
showExample();
