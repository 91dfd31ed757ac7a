// Where lines could run: small pictures of this garment in its own cloth, each with its reason and what it costs.

import { showList } from "./leaflet.js";
import { make } from "./make.js";

/** Fill the list of ideas from a table's scene. */
export function showIdeas(table) {
  showList("ideas", table.scene.ideas, (idea, li) => {
    make("img", { src: idea.picture, alt: `The garment with: ${idea.name}`, loading: "lazy" }, li);
    make("b", {}, li, idea.name);
    make("span", { class: "fine" }, li, idea.reason);
    make("span", { class: "fine" }, li, idea.shares);
    const foot = make("div", { class: "row" }, li);
    make("span", { class: "cost" }, foot, idea.costs);
    const b = make("button", { type: "button" }, foot, "Use this");
    b.setAttribute("aria-label", `Use this: ${idea.name}`);
    b.addEventListener("click", () => table.trigger("act", { do: "use-lines", index: idea.index }));
  });
}
