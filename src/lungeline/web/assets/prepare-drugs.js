// Drugs: the bottle's strength chosen, and doses checked by two people, each time asked of the server.
import { Refusal } from "./ask.js";
import { word } from "./given.js";
import { notice } from "./say.js";

/** Wire the drug sheet in a box. settled(choice): takes a choice over, or refuses it. */
export function doses(box, { settled }) {
  let choices = () => [];
  const choiceOf = (dose) => ({
    drug: dose.dataset.drug, use: dose.dataset.use,
    strength: dose.querySelector("[data-strength]")?.value ?? "",
  });
  const kept = (dose) => choices().find((each) => each.drug === dose.dataset.drug && each.use === dose.dataset.use) ?? {};

  async function take(dose, choice) {
    const place = [dose.dataset.drug, dose.dataset.use];
    await settled(choice);
    const again = box.querySelector(`.dose[data-drug="${place[0]}"][data-use="${place[1]}"]`);
    (again?.querySelector("[data-strength]") ?? again?.querySelector("button"))?.focus();
  }

  const refused = (error) => notice(error instanceof Refusal ? error.message : word("frame.needs_connection"), { kind: "problem" });

  box.addEventListener("change", (event) => {
    if (!event.target.matches("[data-strength]")) return;
    const dose = event.target.closest(".dose");
    take(dose, choiceOf(dose)).catch(refused); // another bottle: what two people confirmed is confirmed no longer
  });

  box.addEventListener("click", (event) => {
    if (event.target.closest("[data-confirm]")) confirming(event.target.closest(".dose"));
  });

  function confirming(dose) {
    const dialog = document.createElement("dialog");
    dialog.className = "confirming";
    const form = document.createElement("form");
    const title = document.createElement("h2");
    title.id = "confirming-title";
    dialog.setAttribute("aria-labelledby", title.id);
    const name = dose.querySelector("h4").textContent.trim();
    title.textContent = `${word("prepare.confirm")}: ${name}`;
    const drawn = document.createElement("p");
    drawn.className = "key-number";
    drawn.textContent = dose.querySelector(".drawn").textContent.trim();
    const problem = document.createElement("p");
    problem.className = "problem";
    problem.setAttribute("role", "alert");
    problem.hidden = true;
    const field = (key, placeholder = "") => {
      const label = document.createElement("label");
      label.className = "field";
      const span = document.createElement("span");
      span.textContent = word(`prepare.${key}`);
      const input = document.createElement("input");
      Object.assign(input, { name: key, placeholder });
      label.append(span, input);
      return label;
    };
    const asked = ["first_person", "second_person", "dose_again", ...(dose.dataset.status === "stopped" ? ["reason"] : [])];
    const row = document.createElement("p");
    row.className = "row";
    const done = document.createElement("button");
    done.className = "theatre main";
    done.textContent = word("prepare.confirm_done");
    const close = document.createElement("button");
    Object.assign(close, { type: "button", className: "theatre", textContent: word("frame.close") });
    close.onclick = () => dialog.close();
    row.append(done, close);
    form.append(title, drawn, ...asked.map((key) => field(key, key === "dose_again" ? "mg/kg" : "")), problem, row);
    form.onsubmit = async (submit) => {
      submit.preventDefault();
      const told = Object.fromEntries(new FormData(form));
      try {
        await take(dose, { ...kept(dose), ...choiceOf(dose), ...told });
        dialog.close();
      } catch (error) {
        problem.textContent = error instanceof Refusal ? error.message : word("frame.needs_connection");
        problem.hidden = false;
      }
    };
    dialog.append(form);
    dialog.addEventListener("close", () => dialog.remove());
    document.body.append(dialog);
    dialog.showModal();
  }

  return { known: (get) => { choices = get; } };
}
