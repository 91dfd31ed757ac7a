// The place of a side of the garment that has no picture yet: it says so, and takes one.

import { make } from "./make.js";

const WORDS = {
  front: ["No front yet", "Add the front"],
  back: ["No back yet", "Add the back"],
};

/** Show the place of the missing side beside the other's sheet; nothing where both are there or none is. */
export function showOtherSide(views, sides) {
  const missing = sides.length ? Object.keys(WORDS).find((side) => !sides.includes(side)) : null;
  views.dataset.missing = missing || "";
  if (!missing) return;
  const [title, add] = WORDS[missing];
  const box = make("figure", { class: "view yet" });
  if (missing === "front") views.prepend(box);
  else views.append(box);
  const place = make("div", { class: "yet-place" }, box);
  make("b", {}, place, title);
  make("p", { class: "fine" }, place, "A drawing, or a photo of it.");
  const b = make("button", { type: "button" }, place, add);
  b.addEventListener("click", () => document.querySelector(`#add-${missing}`)?.click());
}
