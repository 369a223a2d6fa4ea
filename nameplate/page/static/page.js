"use strict";
// Shows what a command says while it works, and the page anew when it has ended.
const follow = run => {
  if (run.dataset.done !== "0" || run.dataset.followed) return;
  run.dataset.followed = "1";
  const lines = run.querySelector("pre"), events = new EventSource("/run/" + run.dataset.what + "/events");
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
