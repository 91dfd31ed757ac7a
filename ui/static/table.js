// The table: the garment with the shelf of cloth along it, and the leaflet's places that say what is so now.
//
// One scene comes from Python (ui/parts/scene.py); it is shown here and in every element of the page that has a
// data-slot. A message with "patch" changes only the keys it names, so a late word of a slow job overwrites nothing.

import { mount as mountEditor } from "./line_editor.js";
import { lengthText } from "./geometry.js";
import { make } from "./make.js";
import { ClothDesk } from "./cloth_desk.js";
import { Earlier } from "./earlier.js";
import { fetchPrints } from "./fetched.js";
import { FoundList } from "./garment_found.js";
import { LineCards } from "./line_cards.js";
import { Leaflet } from "./leaflet.js";
import { PhoneDoor } from "./phone_door.js";
import { PhotoAsk } from "./photo_ask.js";
import { PhotoLight } from "./photo_light.js";
import { PrintMover } from "./print_mover.js";
import { Shelf } from "./shelf.js";
import { Talk } from "./talk.js";
import { Tour } from "./tour.js";

const QUESTIONS = ["garment", "cloth", "lines", "sew", "print"];

class Table {
  constructor(element, props, trigger, watch) {
    this.element = element;
    this.props = props;
    const talk = new Talk(this, trigger);
    this.trigger = (event, data) => talk.tell(event, { ...data, client: this.client });
    this.client = Math.random().toString(36).slice(2, 10);
    this.scene = { views: [], lines: [], cloths: [], choices: [], answers: {} };
    this.root = make("div", { class: "table" }, element);
    const head = make("div", { class: "over-stage" }, this.root);
    this.top = make("div", { class: "choices", role: "group", "aria-label": "Choices" }, head);
    this.seenAs = make("p", { class: "seen-as", hidden: "" }, head);
    this.stage = make("div", { class: "stage" }, this.root);
    this.editor = mountEditor(this.stage, { value: null }, (event, data) => this.trigger(event, data));
    head.append(this.editor.bar);
    this.tour = new Tour(document.querySelector("#leaflet") || head);
    this.empty = this.invitation();
    this.busy = make("div", { class: "busy", hidden: "" }, this.root);
    this.busyText = make("span", { role: "status" }, this.busy);
    this.bar = make("progress", { max: 1, "aria-label": "Progress" }, this.busy);
    this.stop = make("button", { type: "button", class: "quiet" }, this.busy, "Stop");
    this.stop.addEventListener("click", () => this.trigger("act", { do: "stop" }));
    this.said = make("p", { class: "said", role: "status", hidden: "" }, make("div", { class: "said-line" }, this.root));
    this.shelf = new Shelf(this);
    this.leaflet = new Leaflet(this);
    this.cards = new LineCards(this);
    this.door = new PhoneDoor(this);
    this.cloths = new ClothDesk(this);
    this.prints = new PrintMover(this);
    this.photoLight = new PhotoLight(this);
    this.photoAsk = new PhotoAsk(this);
    this.found = new FoundList();
    this.listen();
    watch("value", () => this.take(props.value));
    this.take(props.value);
    window.garmentTable = this;
  }

  invitation() {
    const box = make("div", { class: "invitation" }, this.stage);
    make("h3", {}, box, "Lay a picture of your garment here");
    make("p", {}, box, "A line drawing works best: front first, back if you have it. A photo works too. You need nothing else to begin.");
    const row = make("div", { class: "row" }, box);
    const own = make("button", { type: "button", class: "main" }, row, "Add a picture");
    own.addEventListener("click", () => document.querySelector("#add-front")?.click());
    const demo = make("button", { type: "button" }, row, "Open the choir’s tunic");
    demo.addEventListener("click", () => document.querySelector("#open-demo")?.click());
    make("p", { class: "fine" }, box, "The tunic, its choir and its cloth are invented, to try things on.");
    this.earlier = new Earlier(this, box);
    return box;
  }

  listen() {
    document.addEventListener("click", (e) => {
      const head = e.target.closest("[data-question]");
      if (head) {
        const close = head.getAttribute("aria-expanded") === "true";
        this.open(head.dataset.question, close);
        if (!close) this.bringIntoSight(head.dataset.question);
      }
      const act = e.target.closest("[data-act]");
      if (act) this.trigger("act", { ...JSON.parse(act.dataset.act) });
      const mode = e.target.closest("button[data-mode]"); // the editor says its mode in the same word
      if (mode) this.begin(mode.dataset.mode);
      if (e.target.closest("[data-light]")) this.light(!document.body.classList.contains("dark"));
    });
    document.addEventListener("keydown", (e) => {
      if (!(e.ctrlKey || e.metaKey) || /^(input|textarea|select)$/i.test(e.target.tagName)) return;
      const key = e.key.toLowerCase();
      if (key !== "z" && key !== "y") return;
      e.preventDefault();
      this.trigger("act", { do: key === "y" || e.shiftKey ? "redo" : "undo" });
    });
    document.addEventListener("change", (e) => {
      if (e.target.matches("[data-unit]")) this.trigger("unit", { unit: e.target.value });
      if (e.target.matches("[data-sight]")) this.trigger("all", { do: "sight", sight: e.target.value });
    });
    this.stage.addEventListener("drawing-hint", (e) => this.hint(e.detail));
    this.stage.addEventListener("line-chosen", (e) => {
      if (e.detail.line) this.open("lines");
      this.cards.choose(e.detail.line);
    });
    this.stage.addEventListener("line-moved", (e) => this.cards.measure(e.detail.line));
    this.stage.addEventListener("panel-chosen", (e) => this.shelf.panelChosen(e.detail.panel));
    this.stage.addEventListener("picture-lost", () => this.say({ place: "table", text: "That picture could not be painted. Undo the last change, or load the page again.", kind: "error" }));
    for (const kind of ["dragover", "drop"]) this.stage.addEventListener(kind, (e) => this.dropped(e));
    fetchPrints(this);
    window.addEventListener("scroll", () => this.giveWay(), { passive: true });
    const stored = localStorage.getItem("light");
    if (stored) this.light(stored === "light" ? false : true);
  }

  begin(mode) {
    if (this.editor.drawing.mode === mode) {
      this.editor.drawing.stop();
      return;
    }
    const onPhoto = ["round", "keep", "drop"].includes(mode); // these buttons may come after the scene that would have barred them
    if (onPhoto && !this.scene.views.some((v) => v.kind === "photo")) this.say({ place: "garment", text: "Add a photo first.", kind: "note" });
    else if (this.scene.views.length) this.editor.drawing.begin(mode);
  }

  hint({ text, mode }) {
    for (const b of document.querySelectorAll("button[data-mode]")) b.setAttribute("aria-pressed", String(b.dataset.mode === mode));
    this.say(text ? { place: "table", text, kind: "hint" } : null);
    const page = document.querySelector("#page.tall.small");
    if (page && mode && mode !== this.drawing) window.scrollTo(0, page.offsetTop); // one draws on a large picture
    this.drawing = mode;
  }

  dropped(e) {
    e.preventDefault();
    if (e.type !== "drop" || !e.dataTransfer.files.length) return;
    const where = this.scene.views.length ? "#add-swatch" : "#add-front";
    const input = document.querySelector(where)?.parentElement.querySelector(`input[type=file] + ${where}`)?.previousElementSibling;
    if (!input) return;
    input.files = e.dataTransfer.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }

  light(dark) {
    document.body.classList.toggle("dark", dark);
    localStorage.setItem("light", dark ? "dark" : "light");
  }

  /** Open a question of the leaflet; the others close. */
  open(name, close = false) {
    for (const q of QUESTIONS) {
      const on = q === name && !close;
      document.querySelector(`#q-${q}`)?.classList.toggle("open", on);
      document.querySelector(`[data-question="${q}"]`)?.setAttribute("aria-expanded", String(on));
    }
    this.editor.root.dataset.marks = name === "lines" && !close ? "up" : "down";
    this.editor.marks.place(); // a note that was hidden had no width to keep it on the page by
    this.editor.root.dataset.flags = name === "sew" && !close ? "up" : "down";
    sessionStorage.setItem(`question ${this.scene.word}`, close ? "" : name);
  }

  /** Bring a question that was opened into sight: its heading at least, and as much of it as there is room for. */
  bringIntoSight(name) {
    const board = document.querySelector("#board");
    const leaflet = document.querySelector("#leaflet");
    const q = document.querySelector(`#q-${name}`);
    if (!board || !leaflet || !q || !this.element.dataset.scene) return;
    const { top, bottom } = q.getBoundingClientRect();
    if (getComputedStyle(board).position === "sticky") { // on a phone the garment stays on top and the leaflet runs below
      window.scrollBy(0, top - board.getBoundingClientRect().bottom - 2);
      return;
    }
    const seen = leaflet.getBoundingClientRect();
    if (top < seen.top || bottom > seen.bottom) leaflet.scrollTop += top - seen.top;
  }

  // -- the scene -------------------------------------------------------------------------------------------------

  take(value) {
    if (!value || typeof value !== "object") return;
    if (value.patch) {
      if ("phone" in value) this.door.show(value.phone);
      if ("pictures" in value) {
        this.editor.showPictures(value.pictures);
        return;
      }
      if ("ways" in value) {
        this.editor.marks.offer(value.ways);
        return;
      }
      this.scene = { ...this.scene, ...value };
      this.showBusy();
      if ("said" in value) this.say(value.said);
      this.cloths.take(value);
      return;
    }
    if (value.answer < this.answer) { // it was made before what is shown, and took longer to come
      if (value.said) this.say(value.said);
      return;
    }
    this.answer = value.answer;
    const first = !this.element.dataset.scene;
    const before = this.scene;
    if (value.revision === before.revision && value.edit < before.edit) value = { ...value, edit: before.edit };
    // Where nothing was changed and nothing is said, what was said last still stands.
    const mended = this.cards.answered(value);
    const news = value.said || value.revision !== before.revision || mended;
    if (!news) value = { ...value, said: before.said };
    this.scene = value;
    this.empty.hidden = value.views.length > 0;
    if (value.earlier) this.earlier.show(value.earlier);
    this.editor.take(value);
    this.showChoices();
    this.shelf.show();
    this.leaflet.show();
    this.showBusy();
    this.cloths.take(value);
    if (value.in_hand) this.shelf.take(value.in_hand);
    if (news) this.say(value.said);
    this.cards.show();
    if (first) this.open(sessionStorage.getItem(`question ${value.word}`) || (value.views.length ? "cloth" : "garment"));
    else if (value.views.some((v) => v.guessed && !before.views.some((b) => b.name === v.name))) this.photoAsk.tools();
    else if (!before.views.length && value.views.length) this.open(value.cloths.length ? "lines" : "cloth");
    if (value.views.length && !value.views.some((v) => v.guessed)) this.tour.begin(value.cloths.length > 0);
    this.element.dataset.scene = String(value.revision);
    this.showKind();
    document.dispatchEvent(new CustomEvent("scene-taken"));
  }

  /** Tell the page's style sheets which pictures there are. */
  showKind() {
    const { views } = this.scene;
    const page = document.querySelector("#page")?.classList;
    page?.toggle("nothing-yet", views.length === 0);
    page?.toggle("has-photo", views.some((v) => v.kind === "photo"));
    page?.toggle("tall", views.some((v) => v.guessed) || (views.length > 0 && new Set(views.map((v) => v.side)).size === 1));
  }

  /** On a phone a tall board gives way to the leaflet by as much as one scrolls. */
  giveWay() {
    const page = document.querySelector("#page");
    if (!page) return;
    const gone = Math.max(0, window.scrollY - page.offsetTop);
    page.style.setProperty("--gone", `${gone}px`);
    page.classList.toggle("small", gone > 60);
  }

  say(said) {
    for (const e of document.querySelectorAll("[data-said]")) {
      const here = said && e.dataset.said === said.place;
      e.textContent = here ? said.text : "";
      e.className = here ? `said ${said.kind}` : "said";
    }
    const places = said ? [...document.querySelectorAll(`[data-said="${said.place}"]`)] : [];
    // What is done at the picture or far down in a list is answered at the picture too, where its question's own place
    // for it is scrolled away.
    const looked = said && (said.far || (said.place === "garment" && said.kind === "note"));
    const away = looked && places.length > 0 && !places.some(inSight);
    const here = said && (said.place === "table" || !places.length || away);
    this.said.hidden = !here;
    this.said.textContent = here ? said.text : "";
    this.said.className = here ? `said ${said.kind}` : "said";
    this.said.ariaHidden = away ? "true" : null; // it is read out once
    clearTimeout(this.quiet);
    if (here && said.kind === "note") this.quiet = setTimeout(() => { this.said.hidden = true; }, Math.max(7000, 70 * said.text.length));
    if (said && said.kind === "error" && QUESTIONS.includes(said.place)) this.open(said.place);
  }

  showBusy() {
    const busy = this.scene.busy;
    this.busy.hidden = !busy;
    document.body.classList.toggle("waiting", Boolean(busy));
    if (!busy) return;
    this.busyText.textContent = busy.text;
    if (busy.share == null) this.bar.removeAttribute("value");
    else this.bar.value = busy.share;
  }

  showChoices() {
    const { choices, choice, views } = this.scene;
    this.top.replaceChildren();
    if (!views.length) return;
    make("span", { class: "label" }, this.top, "Choice");
    const letters = choices.length ? choices : [{ letter: "A", name: "" }];
    for (const c of letters) {
      const b = make("button", { type: "button", class: "letter", "aria-pressed": String(c.letter === choice), "aria-label": `Choice ${c.letter}${c.name ? `, ${c.name}` : ""}` }, this.top, c.letter);
      b.addEventListener("click", () => this.trigger("act", { do: "choose", letter: c.letter }));
    }
    if (letters.length < 4) {
      const b = make("button", { type: "button", class: "quiet" }, this.top, "try another");
      b.title = "Begins with the cloth as it lies now";
      b.addEventListener("click", () => this.trigger("act", { do: "copy-choice" }));
    }
    this.showSight();
    const now = letters.find((c) => c.letter === choice);
    if (now && now.name) make("em", {}, this.top, now.name);
  }

  /** Say that the pictures are shown through other eyes than usual, and the way back. */
  showSight() {
    const words = this.scene.sight_words || "";
    this.seenAs.hidden = !words;
    this.seenAs.replaceChildren();
    if (!words) return;
    make("span", { class: "long" }, make("span", {}, this.seenAs, `Shown ${words}`), "; the cloth itself is unchanged.");
    const b = make("button", { type: "button", class: "quiet" }, this.seenAs, "Show usual colours");
    b.addEventListener("click", () => this.trigger("all", { do: "sight", sight: "usual" }));
  }

  length(mm) {
    return lengthText(mm, this.scene.unit);
  }
}

/** Mount the table in the element that the page gave it. */
export function mount(element, props, trigger, watch) {
  return new Table(element, props, trigger, watch);
}

/** Whether something in the leaflet lies in the part of it that is seen. */
function inSight(e) {
  const r = e.getBoundingClientRect();
  const around = (e.closest("#leaflet") || document.documentElement).getBoundingClientRect();
  return r.height > 0 && r.top < Math.min(around.bottom, window.innerHeight) && r.bottom > Math.max(around.top, 0);
}
