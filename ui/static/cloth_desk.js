// The cloth of the garment as a list, one of them looked at closely, and the store of all one's cloth below.
//
// The open cloth and the store are asked for with each message ("open", "store"), so they are as new as the scene.

import { make } from "./make.js";
import { ClothPhoto, ClothAbove } from "./cloth_photo.js";
import { ClothAsk } from "./cloth_ask.js";
import { outline, recordForm } from "./cloth_record.js";
import { ClothStore } from "./cloth_store.js";
import { watchFiles } from "./file_kinds.js";

const IMAGES = "image/*,.heic,.heif,.tif,.tiff,.webp";

export class ClothDesk {
  constructor(table) {
    this.table = table;
    this.open = null;
    this.detail = null;
    this.revision = -1;
    this.shut = new Set(["Care", "How it behaves"]);
    this.store = new ClothStore(this);
    watchFiles((said) => table.say(said));
    document.addEventListener("click", (e) => this.pressed(e));
    document.addEventListener("click", (e) => this.widen(e), true);
    document.addEventListener("measure-cloth", (e) => this.measure(e.detail));
    for (const kind of ["dragover", "drop"]) document.addEventListener(kind, (e) => this.dropped(e));
  }

  get slot() {
    return document.querySelector("[data-slot=cloth-desk]");
  }

  /** Tell Python; the answer brings the open cloth and the store along. */
  send(message) {
    this.table.trigger("cloth", { ...message, open: this.open, store: this.store.wish() });
  }

  pressed(e) {
    const camera = e.target.closest("[data-camera]");
    if (camera) this.camera(camera.dataset.camera);
    const sheet = e.target.closest("[data-print-sheet]");
    if (sheet) this.send({ do: "sheet", paper: sheet.dataset.printSheet, what: sheet.dataset.what });
  }

  input(button) {
    const b = document.querySelector(button);
    return b && b.parentElement.querySelector("input[type=file]");
  }

  /** A phone offers its camera only where any picture is welcome. */
  widen(e) {
    if (!e.target.closest("#add-swatch")) return;
    const input = this.input("#add-swatch");
    if (!input) return;
    input.accept = IMAGES;
    if (!this.shooting) input.removeAttribute("capture");
  }

  camera(button) {
    const input = this.input(button);
    if (!input) return;
    input.accept = "image/*";
    input.setAttribute("capture", "environment");
    this.shooting = true;
    document.querySelector(button).click();
    this.shooting = false;
  }

  /** Photos dropped on the leaflet's question are cloth. */
  dropped(e) {
    const place = e.target.closest && e.target.closest("#q-cloth");
    if (!place || !e.dataTransfer) return;
    e.preventDefault();
    place.classList.toggle("dropping", e.type === "dragover");
    const input = this.input("#add-swatch");
    if (e.type !== "drop" || !e.dataTransfer.files.length || !input) return;
    input.files = e.dataTransfer.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }

  /** Take a scene or a patch of one. */
  take(value) {
    if (value.store) this.store.take(value.store);
    if (value.download) this.download(value.download);
    if (value.patch) return;
    this.cloths = value.cloths || [];
    if (this.open && !this.cloths.some((c) => c.id === this.open)) this.look(null);
    if ("cloth_open" in value) {
      this.detail = value.cloth_open;
      this.revision = value.revision;
    } else if (this.open && value.revision !== this.revision) {
      this.revision = value.revision;
      this.send({ do: "look" });
      return;
    }
    this.show();
    this.store.show();
  }

  download({ href, name }) {
    const a = make("a", { href, download: name }, document.body);
    a.click();
    a.remove();
  }

  look(id) {
    if (id && id !== this.open) this.table.say(null); // what was said of another cloth
    this.open = id;
    if (!id) this.detail = null;
    if (id) this.send({ do: "look" });
    else this.show();
  }

  /** Go where it is said how much there is of a cloth; without one, to the list of all. */
  measure(id) {
    this.table.open("cloth");
    this.measuring = id || null;
    this.look(id || null);
    if (!id) this.table.bringIntoSight("cloth");
  }

  /** The place where the cloth is measured: the pieces found in its photo, or how long what is left of it is. */
  toMeasure(slot, detail) {
    if (!detail || this.measuring !== detail.id) return;
    this.measuring = null;
    const place = slot.querySelector(`[data-key="garment:${CSS.escape(detail.id)}:length_left"]`);
    if (!place) return;
    place.closest("details").open = true;
    const pieces = slot.querySelector(".cloth-pieces"); // stands above it, and asks whether they are all that is left
    if (pieces) pieces.scrollIntoView({ block: window.innerWidth > 860 ? "start" : "center" });
    else place.scrollIntoView({ block: "center" });
    place.focus({ preventScroll: true });
  }

  show() {
    const { slot } = this;
    if (!slot) return;
    const typing = slot.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    const scroll = document.querySelector("#leaflet")?.scrollTop;
    slot.replaceChildren();
    const detail = this.detail && this.detail.id === this.open ? this.detail : null;
    document.querySelector("#q-cloth")?.classList.toggle("close-by", Boolean(detail));
    if (detail) this.card(make("section", { class: "cloth-card", "aria-label": detail.name }, slot), detail);
    else this.list(make("ul", { class: "own-cloth" }, slot));
    if (typing) slot.querySelector(`[data-key="${CSS.escape(typing)}"]`)?.focus({ preventScroll: true });
    if (detail && scroll != null && this.shown === detail.id) document.querySelector("#leaflet").scrollTop = scroll;
    if (detail && this.shown !== detail.id) slot.scrollIntoView({ block: "start" });
    this.shown = detail ? detail.id : null;
    this.toMeasure(slot, detail);
  }

  list(ul) {
    for (const c of this.cloths || []) {
      const li = make("li", {}, ul);
      const b = make("button", { type: "button", class: "cloth-row", "data-look": c.id }, li);
      make("img", { src: c.swatch, alt: "", class: "chip" }, b);
      const words = make("span", {}, b);
      make("span", { class: "name" }, words, c.name);
      make("span", { class: "fine" }, words, [c.word, c.scaled ? "" : "scale is a guess"].filter(Boolean).join(" · "));
      b.title = "Look at it closely";
      b.addEventListener("click", () => this.look(c.id));
      const away = make("button", { type: "button", class: "quiet" }, li, "put away");
      away.setAttribute("aria-label", `put away ${c.name}`);
      away.addEventListener("click", () => this.table.trigger("act", { do: "remove-cloth", cloth: c.id }));
    }
    ul.hidden = !(this.cloths || []).length;
  }

  card(box, d) {
    const head = make("div", { class: "cloth-head" }, box);
    const name = make("input", { type: "text", maxlength: 120, "aria-label": "Name of the cloth", "data-key": "name", class: "cloth-name" }, head);
    name.value = d.name;
    name.addEventListener("change", () => this.write(d, "name", name.value, "label"));
    const keep = make("button", { type: "button", class: "quiet" }, head, "Keep it in my cloth");
    keep.addEventListener("click", () => this.send({ do: "put-in", cloth: d.id }));
    const shut = make("button", { type: "button" }, head, "Done");
    shut.addEventListener("click", () => this.look(null));
    if (d.photo || d.textured) this.pictures(box, d);
    else this.heed(box, d);
    const said = make("p", { class: "fine cloth-about" }, box);
    for (const text of [...d.about, d.size]) make("span", {}, said, sentence(text));
    if (!d.photo && d.textured) this.size(box, d);
    this.pieces(box, d);
    recordForm(this, box, d, (field, text, how) => this.write(d, field, text, how));
  }

  write(d, field, text, how) {
    this.send({ do: "write", where: "garment", cloth: d.id, field, text, how });
  }

  pictures(box, d) {
    const pair = make("div", { class: d.photo ? "cloth-pair" : "cloth-pair alone" }, box);
    this.ask = d.photo ? new ClothAsk(this, d) : null;
    if (d.photo) this.photo = new ClothPhoto(make("figure", {}, pair), d, this.ask, this);
    new ClothAbove(make("figure", {}, pair), d, (mm) => this.table.length(mm));
    const round = this.photo && d.photo ? make("div", { class: "row cloth-round" }, this.photo.figure) : null;
    this.heed(box, d);
    if (this.ask) this.ask.build(box, this.photo, round);
  }

  /** What the reading warns of stands beside the photo, where it can be put right; below it, so that it moves nothing. */
  heed(box, d) {
    for (const w of d.warnings) make("p", { class: "fine heed" }, box, w);
  }

  /** A cloth whose photo is not here is given its scale by one typed width. */
  size(box, d) {
    const wide = d.above.size[0] * d.above.mm_per_px;
    const row = make("label", { class: "typed" }, box);
    make("span", {}, row, "The swatch above shows, from its left to its right edge");
    const input = make("input", { type: "text", maxlength: 40, autocomplete: "off", "data-key": "size", "data-scale": "" }, row);
    input.value = d.sized ? this.table.length(wide) : "";
    input.placeholder = "don’t know yet";
    input.addEventListener("change", () => this.send({ do: "size", cloth: d.id, text: input.value, shown_mm: wide }));
  }

  pieces(box, d) {
    if (!d.pieces.length && !d.found_pieces.length) return;
    const part = make("div", { class: "cloth-pieces" }, box);
    if (d.found_pieces.length) {
      const many = d.found_pieces.length > 1 ? `${d.found_pieces.length} pieces were measured` : "One piece was measured";
      make("p", { class: "fine" }, part, `${many} in the photo: ${d.found_pieces.join("; ")}. Is that all that is left of this cloth?`);
      const b = make("button", { type: "button" }, part, "Keep as remnants");
      b.addEventListener("click", () => this.send({ do: "pieces", cloth: d.id }));
    }
    for (const p of d.pieces) {
      const row = make("div", { class: "piece-row" }, part);
      row.append(outline(p.d));
      const words = make("span", {}, row);
      make("b", {}, words, p.name);
      make("span", { class: "fine" }, words, p.flaws ? `${p.about}, ${p.flaws} ${p.flaws === 1 ? "place" : "places"} to keep clear of` : p.about);
      if (!p.grain) make("span", { class: "fine" }, words, "Kept. Say how its grain runs: until then no piece is laid on it.");
      const grain = make("select", { "aria-label": `Grain of ${p.name}`, "data-key": `grain:${p.name}` }, row);
      for (const [value, text] of [["", "grain not known yet"], ["up", "grain up the photo"], ["across", "grain across it"]]) {
        make("option", { value }, grain, text).selected = value === p.grain;
      }
      grain.addEventListener("change", () => this.send({ do: "grain", cloth: d.id, remnant: p.name, way: grain.value }));
      const off = make("button", { type: "button", class: "quiet", "aria-label": `take off ${p.name}` }, row, "take off");
      off.addEventListener("click", () => this.send({ do: "drop-piece", cloth: d.id, remnant: p.name }));
    }
    if (d.photo && d.pieces.length && !d.found_pieces.length) {
      const flaw = make("button", { type: "button", "aria-pressed": "false" }, part, "Mark a stain or hole in the photo");
      flaw.addEventListener("click", () => {
        const on = this.photo.drawFlaw((points) => this.send({ do: "flaw", cloth: d.id, points }));
        flaw.setAttribute("aria-pressed", String(on));
      });
    }
  }
}

const sentence = (text) => {
  const plain = text.trim();
  return plain ? `${plain[0].toUpperCase()}${plain.slice(1)}${/[.!?]$/.test(plain) ? "" : "."}` : "";
};
