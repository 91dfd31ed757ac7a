// One finding in the list under 'Will it sew?': how serious, the sentence, and what can be unfolded. Its number leads to
// the flag of the same number in the picture.

import { make } from "./make.js";

const GRADES = { fine: "Yes", stop: "Stop", warn: "Take care", note: "Note", "cannot tell": "Cannot tell" };
const SHOWN_MS = 2600;

/** Write a fact into a list item. */
export function showFact(item, li, table) {
  li.className = `fact ${item.grade === "fine" ? "good" : item.grade.replace(/ /g, "-")}`;
  const head = make("b", {}, li, GRADES[item.grade] || "Note");
  if (item.flag) {
    const jump = make("button", { type: "button", class: "flag-number", title: "Show it in the picture" }, head, String(item.flag));
    jump.setAttribute("aria-label", `Show flag ${item.flag} in the picture`);
    jump.addEventListener("click", () => jumpTo(item, table));
  }
  const said = make("span", {}, li, item.text);
  if (item.about) make("small", {}, said, item.about);
  if ((item.more || []).length) fold(said, "How to find out", item.more);
  if (item.origin) fold(said, "Where this limit comes from", [item.origin]);
}

function fold(parent, title, sentences) {
  const box = make("details", { class: "origin" }, parent);
  make("summary", {}, box, title);
  for (const text of sentences) make("p", {}, box, text);
}

/** Bring a finding's flag into sight and let it stand out for a moment. */
function jumpTo(item, table) {
  table.editor.root.dataset.flags = "up";
  const label = `Flag ${item.flag}:`;
  const flag = [...document.querySelectorAll(".flag:not(.mark)")].find((f) => (f.getAttribute("aria-label") || "").startsWith(label));
  if (!flag) return;
  const board = document.querySelector("#board");
  if (board && getComputedStyle(board).position !== "sticky") flag.scrollIntoView({ block: "nearest" });
  for (const other of document.querySelectorAll(".flag.shown")) other.classList.remove("shown");
  flag.classList.add("shown");
  flag.parentNode.append(flag); // over its neighbours
  flag.setAttribute("tabindex", "-1");
  flag.focus({ preventScroll: true });
  setTimeout(() => flag.classList.remove("shown"), SHOWN_MS);
}
