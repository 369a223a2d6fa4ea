"use strict";
// Shows what a command says while it works, the page anew when it has ended, and then the end of it: what was made.
const follow = run => {
  if (run.dataset.followed) return;
  run.dataset.followed = "1";
  const lines = run.querySelector(".steps");
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
// Puts what an address answers in the place of an element, or of what a selector finds; the newest wish is the only one.
const wishes = new Map();
const giveUp = place => {
  if (wishes.has(place)) wishes.get(place).abort();
};
const put = async (place, address, how = {}) => {
  giveUp(place);
  const wish = new AbortController();
  wishes.set(place, wish);
  const answer = await fetch(address, { ...how, signal: wish.signal })
    .then(answer => answer.status === 200 ? answer.text() : "")
    .catch(() => ""); // given up, or the page is closed
  if (wishes.get(place) === wish) wishes.delete(place);
  const box = document.createElement("template");
  box.innerHTML = answer;
  const old = typeof place === "string" ? document.querySelector(place) : place;
  const fresh = box.content.firstElementChild;
  if (!fresh || !old || !old.isConnected || wish.signal.aborted) return;
  old.replaceWith(fresh);
  htmx.process(fresh);
  if (fresh.dataset.then) put(place, fresh.dataset.then);
};
// What was unfolded stays so when an answer has the same room.
let unfolded = [];
document.addEventListener("htmx:beforeSwap", event => {
  if (event.target.id !== "main") return;
  unfolded = [...event.target.querySelectorAll("details[open][id]")].map(fold => [event.target.dataset.room, fold.id]);
});
document.addEventListener("htmx:afterSettle", () => {
  const main = document.getElementById("main");
  for (const [room, id] of unfolded) {
    const fold = main?.dataset.room === room && document.getElementById(id);
    if (fold) fold.open = true;
  }
});
// A link on a page may lead into another room: the bar says which it is.
document.addEventListener("htmx:afterSettle", () => {
  const room = document.getElementById("main")?.dataset.room;
  for (const link of document.querySelectorAll("header nav a")) {
    if (link.getAttribute("href") === room) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
});
// A plate that is not drawn yet is asked for once it stays in view, and no more when it has left it: what is looked at
// now is not kept waiting by what was scrolled past.
const STAYS_MS = 200;
const seen = new IntersectionObserver(entries => {
  for (const { target, isIntersecting } of entries) {
    clearTimeout(target.stays);
    if (isIntersecting) target.stays = setTimeout(() => put(target, target.dataset.unseen), STAYS_MS);
    else giveUp(target);
  }
}, { rootMargin: "200px" });
document.addEventListener("htmx:load", event => {
  event.detail.elt.querySelectorAll("[data-unseen]").forEach(card => seen.observe(card));
});
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
// What is typed into the list and not saved is marked, stays when another row is saved, and is asked about before it is left.
const lf = text => text.replace(/\r\n?/g, "\n");
const cellsOf = row => [...row.querySelectorAll("[data-was]")];
const changedIn = row => cellsOf(row).filter(cell => lf(cell.value) !== lf(cell.dataset.was));
const rowsOfList = () => [...document.querySelectorAll(".list tbody tr")].filter(row => cellsOf(row).length);
const numberOf = row => row.querySelector("th").textContent;
const markRows = (lost = []) => {
  const status = document.getElementById("unsaved-rows");
  if (!status) return;
  const unsaved = rowsOfList().filter(row => {
    const isChanged = changedIn(row).length > 0;
    row.classList.toggle("unsaved", isChanged);
    row.querySelector("button").classList.toggle("quiet", !isChanged);
    return isChanged;
  }).map(numberOf);
  const told = unsaved.length ? ["Not saved yet: row " + unsaved.join(", ") + "."] : [];
  if (lost.length) told.push("Typed, not saved, and its row is not as it was: " + lost.join(", ") + ".");
  status.textContent = told.join(" ");
  status.hidden = !told.length;
};
// A Save writes every row that was changed, and is the only thing that is sent of the list until its answer is there:
// what is pressed meanwhile is done then.
const textsOf = (row, was = cell => cell.dataset.was) => cellsOf(row).map(cell => cell.name + "=" + was(cell)).join("\0");
let typedRows = [], sentRow = null, underWay = null, pressedNext = "", seenRow = null, isSettling = false, rowAtHand = "", typing;
const sentCells = new Map(); // what a Save under way has sent
document.addEventListener("submit", event => {
  const row = event.target.closest(".list tr"), what = event.submitter?.value;
  if (row && (isSettling || (underWay && document.contains(underWay)))) {
    event.preventDefault();
    event.stopImmediatePropagation();
    pressedNext = event.submitter?.id;
    return;
  }
  underWay = row && (what === "save" || what === "hold") ? event.target : null;
  sentCells.clear();
  // Hold says nothing of what is typed in its row; all else sends it, or takes the row out.
  sentRow = what === "hold" ? null : row;
}, true);
document.addEventListener("htmx:configRequest", event => {
  if (event.detail.elt !== underWay || !sentRow) return;
  for (const row of rowsOfList()) {
    if (row !== sentRow && (numberOf(row) === "new" || !changedIn(row).length)) continue;
    cellsOf(row).forEach(cell => sentCells.set(cell, cell.value));
    if (row !== sentRow) for (const cell of changedIn(row)) {
      event.detail.formData.set("r" + numberOf(row) + cell.name, cell.value);
      event.detail.formData.set("r" + numberOf(row) + cell.name.replace("c", "o"), cell.dataset.was);
    }
  }
});
document.addEventListener("htmx:beforeSwap", event => {
  if (event.target.id !== "main") return;
  // a plate that is still being drawn is of a list that is gone
  clearTimeout(typing);
  giveUp("#drawing");
  const isWritten = event.detail.xhr.status < 400;
  const was = cell => isWritten && sentCells.has(cell) ? sentCells.get(cell) : cell.dataset.was;
  const isTyped = cell => lf(cell.value) !== lf(was(cell));
  const rows = rowsOfList().filter(row => row !== sentRow || (isWritten && cellsOf(row).some(cell => sentCells.has(cell))));
  typedRows = rows.filter(row => cellsOf(row).some(isTyped)).map(row => ({
    number: numberOf(row), texts: textsOf(row, was),
    cells: cellsOf(row).filter(cell => cell.closest(".name") || isTyped(cell))
      .map(cell => ({ name: cell.name, was: was(cell), value: cell.value })),
  }));
  const seen = rowsOfList().find(row => numberOf(row) === rowAtHand);
  seenRow = seen && { number: numberOf(seen), top: seen.getBoundingClientRect().top };
  if (!isWritten) pressedNext = "";
  sentRow = underWay = null;
  sentCells.clear();
  isSettling = event.detail.shouldSwap; // the forms of the answer are htmx's own, and what was typed is put back, a moment after the swap
});
document.addEventListener("htmx:sendError", () => {
  underWay = null; // the answer will not come; what was typed is still there
  pressedNext = "";
});
document.addEventListener("htmx:afterSettle", event => {
  if (event.target.id !== "main") return;
  isSettling = false;
  const button = document.getElementById(pressedNext);
  pressedNext = "";
  button?.click();
});
// A button that was replaced between press and release gets no click: the one in its place does.
let pressed = null;
document.addEventListener("pointerdown", event => {
  pressed = event.target.closest(".list button[value=save]");
});
document.addEventListener("pointerup", () => {
  const before = pressed;
  pressed = null;
  if (before && !before.isConnected) document.getElementById(before.id)?.click();
});
// Lines that come or go with an answer do not move the row that a hand is at, or on its way to.
for (const kind of ["focusin", "input", "pointermove"]) document.addEventListener(kind, event => {
  const row = event.target.closest(".list tbody tr");
  if (row && cellsOf(row).length) rowAtHand = numberOf(row);
});
const stay = () => {
  const row = seenRow && rowsOfList().find(row => numberOf(row) === seenRow.number);
  if (row) scrollBy(0, row.getBoundingClientRect().top - seenRow.top);
  seenRow = null;
};
const putBack = () => {
  const rows = rowsOfList(), lost = [];
  for (const { number, texts, cells } of typedRows) {
    const isSame = row => textsOf(row) === texts;
    const there = rows.filter(row => numberOf(row) === number);
    const same = there.find(isSame) || rows.find(isSame) || there.find(row =>
      cells.every(({ name, was }) => cellsOf(row).some(cell => cell.name === name && cell.dataset.was === was)));
    for (const { name, was, value } of cells) {
      if (same) cellsOf(same).find(cell => cell.name === name).value = value;
      else if (value !== was) lost.push("“" + value + "”");
    }
  }
  typedRows = [];
  markRows(lost);
  stay();
};
document.addEventListener("htmx:load", putBack);
document.addEventListener("input", event => event.target.closest(".list") && markRows());
// So is what is typed into a form that asks for it, until an answer has a new one in its place; of what was refused, and
// is typed there, nothing is written.
const fieldsOf = form => new URLSearchParams(new FormData(form)).toString();
document.addEventListener("htmx:load", () => {
  for (const form of document.querySelectorAll("[data-asks]")) form.was ??= form.dataset.asks || fieldsOf(form);
});
const isTypedOnly = form => form.was !== fieldsOf(form);
const isAsked = () => rowsOfList().some(row => changedIn(row).length) || [...document.querySelectorAll("[data-asks]")].some(isTypedOnly);
window.addEventListener("beforeunload", event => {
  if (isAsked()) event.preventDefault();
});
// A link within a page leaves it as one in the bar does where that is to be asked about; the list keeps what is typed itself.
document.addEventListener("htmx:beforeRequest", event => {
  const link = event.detail.elt;
  if (link.tagName !== "A" || !isAsked() || (link.pathname === location.pathname && rowsOfList().length)) return;
  event.preventDefault();
  location.assign(link.href);
});
// A plate is drawn as somebody types, on its own page or beside the list: there as soon as a cell of its row is entered.
const TYPING_MS = 80;
const draft = form => put("#drawing", "/plate/draft", { method: "POST", body: new URLSearchParams(new FormData(form)) });
document.addEventListener("htmx:load", event => {
  const figure = event.detail.elt.querySelector("[data-draft]");
  if (figure) draft(document.getElementById(figure.dataset.draft));
});
const drawRow = event => {
  const form = event.target.closest(event.type === "input" ? "#one, .list [data-was]" : ".list [data-was]") && event.target.form;
  const figure = document.getElementById("drawing");
  if (!form || !figure) return;
  const row = event.target.closest(".list tr");
  // not on what has an id: htmx copies its attributes when it swaps, and the policy holds a style back
  if (row) row.closest(".listing").style.setProperty("--row-at", row.offsetTop + "px");
  clearTimeout(typing);
  typing = setTimeout(() => draft(form), TYPING_MS);
};
document.addEventListener("focusin", drawRow);
document.addEventListener("input", drawRow);
// On the page of one plate arrows move the name in steps, are drawn at once, and written once the hand rests.
const REST_MS = 700;
let resting, steps = null;
const write = (field, text) => {
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
};
const nudge = button => {
  const field = document.getElementById(button.dataset.of);
  const now = Number((steps?.[field.id] ?? field.value).replace(",", ".") || 0); // an answer may just have put it back
  if (Number.isNaN(now)) return false;
  const there = Math.round((now + button.dataset.by * button.parentElement.dataset.step) * 1000) / 1000;
  steps = { ...steps, [field.id]: there ? String(there) : "" };
  write(field, steps[field.id]);
  clearTimeout(resting);
  resting = setTimeout(rested, REST_MS);
  return true;
};
// Save is clicked rather than handed to requestSubmit: htmx sends the button that was clicked last, and that may be an
// arrow, which the server would follow once more.
const save = () => document.getElementById("save")?.click();
const rested = () => {
  if (document.querySelector("#one.htmx-request")) resting = setTimeout(rested, REST_MS);
  else {
    steps = null;
    save();
  }
};
document.addEventListener("click", event => {
  const button = event.target.closest("[data-by]");
  if (button && nudge(button)) event.preventDefault();
});
document.addEventListener("keydown", event => {
  if (event.target.id !== "stage" || event.altKey || event.ctrlKey || event.metaKey) return;
  const button = document.getElementById(event.key.replace("Arrow", "").toLowerCase());
  if (event.key.startsWith("Arrow") && button && nudge(button)) event.preventDefault();
});
document.addEventListener("input", event => {
  if (event.isTrusted && steps) delete steps[event.target.id]; // typed, and no step of an arrow
  const told = event.target.closest("#one") && document.getElementById("unsaved");
  if (told) told.hidden = false;
});
// A font is written as soon as it is chosen; steps that were made while something was written are made again.
document.addEventListener("change", event => {
  if (event.target.matches("#one select")) save();
});
document.addEventListener("htmx:afterSettle", event => {
  if (event.target.id !== "main" || !steps) return;
  for (const [id, text] of Object.entries(steps)) {
    const field = document.getElementById(id);
    if (field) write(field, text);
  }
});
