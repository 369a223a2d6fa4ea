"use strict";
// A sheet made larger and smaller about its middle or the pointer, and its pieces told by name.
const zoom = document.querySelector(".zoom"), drawing = zoom.querySelector("svg"), told = document.getElementById("told");
const LEAST = 1, MOST = 32, STEP = 1.5;
let scale = 1;
const scaled = (to, x = zoom.clientWidth / 2, y = zoom.clientHeight / 2) => {
  const next = Math.min(MOST, Math.max(LEAST, to)), ratio = next / scale;
  const left = (zoom.scrollLeft + x) * ratio - x, top = (zoom.scrollTop + y) * ratio - y;
  scale = next;
  drawing.setAttribute("width", 100 * scale + "%");
  zoom.scrollTo(left, top);
  document.getElementById("scale").textContent = Math.round(100 * scale) + " %";
};
const by = key => scaled(key === "0" ? 1 : key === "-" ? scale / STEP : scale * STEP);
const links = [...document.querySelectorAll(".pieces a")];
const pieceOf = link => document.getElementById(link.hash.slice(1));
const tell = piece => {
  document.querySelectorAll(".piece.told").forEach(one => one.classList.remove("told"));
  if (!piece) return;
  piece.classList.add("told");
  told.textContent = piece.querySelector("title").textContent;
};
const toView = piece => {
  const box = piece.getBoundingClientRect(), room = zoom.getBoundingClientRect();
  const left = zoom.scrollLeft + box.left - room.left - (room.width - box.width) / 2;
  const top = zoom.scrollTop + box.top - room.top - (room.height - box.height) / 2;
  zoom.scrollTo(left, top);
};
document.querySelectorAll("[data-zoom]").forEach(one => one.addEventListener("click", () => by(one.dataset.zoom)));
document.addEventListener("keydown", event => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, textarea, select")) return;
  const key = event.key === "=" ? "+" : event.key;
  if (!["+", "-", "0"].includes(key)) return;
  event.preventDefault();
  by(key);
});
zoom.addEventListener("wheel", event => {
  if (!event.ctrlKey) return;
  event.preventDefault();
  const room = zoom.getBoundingClientRect();
  scaled(scale * (event.deltaY < 0 ? STEP : 1 / STEP), event.clientX - room.left, event.clientY - room.top);
}, { passive: false });
drawing.addEventListener("pointerover", event => tell(event.target.closest(".piece")));
drawing.addEventListener("click", event => {
  const piece = event.target.closest(".piece"), link = piece && links.find(one => one.hash === "#" + piece.id);
  if (link) link.focus({ preventScroll: true });
});
for (const link of links) {
  link.addEventListener("focus", () => tell(pieceOf(link)));
  link.addEventListener("click", event => {
    event.preventDefault();
    tell(pieceOf(link));
    toView(pieceOf(link));
  });
}
