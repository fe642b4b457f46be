// The list of scenarios: choose by what is practised, begin alone or with a trainer.
import { ask } from "./ask.js";

const problem = document.getElementById("problem");
document.querySelectorAll("input[name=skill]").forEach((input) => (input.onchange = () =>
  document.querySelectorAll("[data-skills]").forEach((it) => (it.hidden = input.value !== "" && !it.dataset.skills.split(" ").includes(input.value)))));
document.querySelectorAll("[data-begin]").forEach((button) => (button.onclick = async () => {
  button.disabled = true;
  problem.hidden = true;
  try {
    const led = "led" in button.dataset;
    const skill = document.querySelector("input[name=skill]:checked").value;
    const begun = await ask("/api/rehearse/begin", { method: "POST", body: { scenario: button.dataset.begin || null, skill, led, bench: "bench" in button.dataset } });
    location.href = `/rehearse/${begun.id}/${led ? "trainer/" : ""}`;
  } catch (error) {
    problem.textContent = error.message;
    problem.hidden = false;
    button.disabled = false;
  }
}));
