// Prints that are made when they are fetched: what cannot be printed so is said on the page, not by a failed download.

import { make } from "./make.js";

const PRINT = /\/made\/[\w-]+\/pieces-\w+\.pdf$/;

/** Fetch prints for whoever presses their links, and hand them over as downloads. */
export function fetchPrints(table) {
  const say = (text, kind) => table.say({ place: "print", text, kind, far: true }); // its link may stand far down a list
  document.addEventListener("click", async (e) => {
    const link = e.target.closest?.("a[download]");
    if (!link || !PRINT.test(link.pathname) || e.ctrlKey || e.metaKey || e.shiftKey) return;
    e.preventDefault();
    if (link.ariaBusy) return;
    link.ariaBusy = "true";
    const told = setTimeout(() => say("Laying the pieces out on that paper …", "note"), 400);
    try {
      const answer = await fetch(link.href);
      if (!answer.ok) throw new Error(await answer.text());
      const there = URL.createObjectURL(await answer.blob());
      make("a", { href: there, download: link.download }).click();
      setTimeout(() => URL.revokeObjectURL(there), 60_000); // the browser reads it after the click
      clearTimeout(told);
      table.say(null);
    } catch (error) {
      clearTimeout(told);
      say(error instanceof TypeError ? "The program did not answer. See whether it still runs, and press again." : error.message, "error");
    }
    link.ariaBusy = null;
  });
}
