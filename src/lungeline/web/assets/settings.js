// How this browser shows things; and a question before it shows the other kind of cases.
import { keepView } from "./frame.js";

document.querySelectorAll("input[data-view]").forEach((input) => {
  input.onchange = () => {
    keepView({ [input.dataset.view]: input.value });
    location.reload();
  };
});

const dialog = document.getElementById("ask");
const form = document.getElementById("side");
form?.querySelector("button").addEventListener("click", (event) => {
  event.preventDefault();
  document.getElementById("ask-head").textContent = event.currentTarget.dataset.ask;
  document.getElementById("ask-yes").onclick = () => form.submit();
  document.getElementById("ask-no").onclick = () => dialog.close();
  dialog.showModal();
});
