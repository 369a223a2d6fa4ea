"use strict";
// Sliders move with their boxes, and a drawing that is dropped is taken as if it had been chosen.
document.addEventListener("input", event => {
  const moved = event.target;
  if (moved.dataset.of) document.getElementById(moved.dataset.of).value = moved.value;
  const slider = document.querySelector('[data-of="' + CSS.escape(moved.id) + '"]');
  const mm = moved.value.trim().replace(",", ".");
  if (slider && mm && !Number.isNaN(Number(mm))) slider.value = mm; // one with a unit leaves it where it is
}, true);
const dropped = event => {
  const form = event.target.closest && event.target.closest("form.drop");
  if (!form) return;
  event.preventDefault();
  form.classList.toggle("over", event.type === "dragover");
  if (event.type !== "drop" || !event.dataTransfer.files.length) return;
  form.querySelector("input[type=file]").files = event.dataTransfer.files;
  form.requestSubmit();
};
for (const kind of ["dragover", "dragleave", "drop"]) document.addEventListener(kind, dropped);
