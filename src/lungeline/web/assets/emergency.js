// The card needs no script; with one it can be printed from the page.
const button = document.getElementById("print");
if (button) {
  button.hidden = false;
  button.onclick = () => window.print();
}
