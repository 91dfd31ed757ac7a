// 'Print and cut': what is there to show others, and the poll: its link and picture code, who can reach it, its results.

import { make } from "./make.js";

const EVERY_MS = 5000;
const ABOUT = { "cards.zip": "Cards to post: every choice in three sizes, with texts", "choices.pdf": "The choices as a document, also as others see them" };

class VotesBoard {
  constructor(element, trigger) {
    this.trigger = (message) => trigger("vote", message);
    document.addEventListener("scene-taken", () => this.follow());
    setInterval(() => this.again(), EVERY_MS);
    this.follow();
  }

  get scene() {
    return window.garmentTable && window.garmentTable.scene;
  }

  follow() {
    const scene = this.scene;
    if (!scene || !scene.asked) return;
    const list = document.querySelector("[data-slot=shared]");
    if (list) {
      list.replaceChildren();
      for (const name of scene.asked.shared || []) {
        const li = make("li", {}, list);
        make("a", { href: `/made/${scene.word}/${name}`, download: name }, li, ABOUT[name] || name);
        make("span", { class: "fine" }, li, name);
      }
      list.hidden = !(scene.asked.shared || []).length;
    }
    if (scene.asked.poll) this.look();
    else document.querySelector("[data-slot=poll]")?.replaceChildren();
  }

  /** Ask anew for the votes while somebody looks at them. */
  again() {
    const box = document.querySelector("[data-slot=poll]");
    if (this.scene && this.scene.asked && this.scene.asked.poll && this.open && box && box.offsetParent && !document.hidden) this.look();
  }

  async look() {
    const word = this.scene.word;
    const found = await fetch(`/votes/${word}/poll.json`).then((r) => r.json()).catch(() => null);
    const box = document.querySelector("[data-slot=poll]");
    if (!found || !box) return;
    this.open = found.open;
    const shown = JSON.stringify(found);
    if (box.dataset.shown === shown && box.childElementCount) return;
    box.dataset.shown = shown;
    box.replaceChildren();
    if (!found.poll) return;
    make("h3", {}, box, found.title);
    make("p", {}, box, found.open ? `Open${found.closes ? ` until ${found.closes}` : ""}.` : "Closed: no further vote counts.");
    if (found.open) this.showLink(box, found, word);
    make("p", { class: "fine" }, box, found.reach);
    if (found.open && !found.address) this.button(box, "Let it answer again", { do: "serve" }, "serve-poll");
    const figure = make("figure", {}, box);
    make("img", { class: "chart", src: `/votes/${word}/chart.png?n=${found.votes}-${found.open}`, alt: found.chart, width: "1080" }, figure);
    const words = make("details", { class: "origin" }, box);
    make("summary", {}, words, "The results in words");
    for (const text of found.said) make("p", {}, words, text);
    if (found.comments.length) {
      const comments = make("details", { class: "origin" }, box);
      make("summary", {}, comments, `What voters added (${found.comments.length})`);
      for (const text of found.comments) make("p", {}, comments, text);
    }
    const row = make("div", { class: "row" }, box);
    if (found.votes) make("a", { class: "quiet", href: `/votes/${word}/votes.csv`, download: "votes.csv" }, row, "Votes as a table");
    if (found.open) this.button(row, "Close the poll", { do: "close" }, "close-poll");
  }

  showLink(box, found, word) {
    if (found.links) {
      const p = make("p", {}, box);
      make("a", { href: `/made/${word}/${found.links}`, download: found.links }, p, "The one-time links, one for each voter");
    }
    if (!found.address || found.one_time) return;
    const link = make("p", { class: "poll-link" }, box);
    make("a", { href: found.address, target: "_blank", rel: "noreferrer" }, link, found.address);
    if (!found.for_phones) return; // on a phone this computer's own address leads nowhere
    make("img", { class: "code", src: `/votes/${word}/code.png?a=${encodeURIComponent(found.address)}`, alt: `Picture code of the link ${found.address}, for a phone's camera` }, box);
  }

  button(parent, text, message, id) {
    const b = make("button", { type: "button", id }, parent, text);
    b.addEventListener("click", () => this.trigger(message));
    return b;
  }
}

/** Follow the table with the board of polls. */
export function mount(element, props, tell) {
  new VotesBoard(element, tell);
}
