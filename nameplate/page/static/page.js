"use strict";
// Shows what a command says while it works, the page anew when it has ended, and then the end of it: what was made.
const follow = run => {
  if (run.dataset.followed) return;
  run.dataset.followed = "1";
  const lines = run.querySelector("pre");
  lines.scrollTop = lines.scrollHeight;
  if (run.dataset.done !== "0") return;
  const events = new EventSource("/run/" + run.dataset.what + "/events");
  lines.textContent = "";
  events.onmessage = event => {
    lines.textContent += JSON.parse(event.data) + "\n";
    lines.scrollTop = lines.scrollHeight;
  };
  events.addEventListener("end", () => {
    events.close();
    if (run.isConnected) htmx.ajax("GET", location.pathname, { target: "#main", select: "#main", swap: "outerHTML" });
  });
  events.onerror = () => events.close();
};
const followAll = () => document.querySelectorAll(".run").forEach(follow);
document.addEventListener("htmx:load", followAll);
document.addEventListener("DOMContentLoaded", followAll);
// A list of names is sent as soon as it is chosen, or dropped anywhere on the page of the names.
document.addEventListener("change", event => {
  if (event.target.matches("#drop [type=file]") && event.target.files.length) event.target.form.requestSubmit();
});
for (const kind of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(kind, event => {
    const form = document.getElementById("drop");
    const files = event.dataTransfer;
    if (!form || !files || !files.types.includes("Files")) return;
    event.preventDefault();
    document.body.classList.toggle("dropping", kind === "dragover");
    if (kind !== "drop" || !files.files.length) return;
    const field = form.querySelector("[type=file]");
    field.files = files.files;
    form.requestSubmit();
  });
}
