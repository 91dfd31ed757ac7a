// One zoom for front and back. What is in sight is kept in mm from the centre of the neck line; sideways the back shows
// the mirrored place, so both pictures always show the same part of the body.

const LIMIT = 12;

/** Zoom, pan and fit for several views that look at one garment. */
export class Viewport {
  constructor() {
    this.zoom = 1;
    this.across = 0; // shift of what is in the middle, in px of the screen at zoom 1; mirrored in the back
    this.down = 0;
    this.panes = [];
    this.changed = () => {};
  }

  /** Give the views to show: each {view, box: {width, height}, turn: 1 or -1}. */
  setPanes(panes) {
    this.panes = panes;
  }

  /** Where picture px land on the screen of a pane: x' = x * k + dx. */
  place(pane) {
    const { width, height } = pane.box;
    const [w, h] = pane.view.size;
    const fit = this.fitScale();
    const k = (fit * this.zoom) / this.unit(pane.view);
    const f = pane.view.frame || [0, 0, w, h];
    const cx = f[0] + f[2] / 2;
    const cy = f[1] + f[3] / 2;
    return { k, dx: width / 2 - (cx * k) - pane.turn * this.across * this.zoom, dy: height / 2 - cy * k - this.down * this.zoom };
  }

  /** px of the picture to a common measure: mm, known or guessed, so that front and back show at one scale. */
  unit(view) {
    return 1 / (view.mm_per_px || 1);
  }

  /** Screen px a mm at which every view fits into its box. */
  fitScale() {
    let fit = Infinity;
    for (const { view, box } of this.panes) {
      const f = view.frame || [0, 0, view.size[0], view.size[1]];
      const k = Math.min(box.width / f[2], box.height / f[3]) * this.unit(view);
      if (k > 0) fit = Math.min(fit, k);
    }
    return Number.isFinite(fit) ? fit * 0.96 : 1;
  }

  /** Zoom by a factor about a point of a pane's screen. */
  zoomAt(pane, factor, x, y) {
    const before = this.zoom;
    this.zoom = Math.min(LIMIT, Math.max(1, this.zoom * factor));
    const k = this.zoom / before;
    if (k === 1) return;
    const ox = pane ? x - pane.box.width / 2 : 0;
    const oy = pane ? y - pane.box.height / 2 : 0;
    const turn = pane ? pane.turn : 1;
    // The point under (x, y) stays: ox = place * zoom - across * zoom.
    this.across += (turn * ox * (k - 1)) / this.zoom;
    this.down += (oy * (k - 1)) / this.zoom;
    this.clamp();
    this.changed();
  }

  /** Move what is in sight by screen px. */
  pan(pane, dx, dy) {
    this.across -= (pane.turn * dx) / this.zoom;
    this.down -= dy / this.zoom;
    this.clamp();
    this.changed();
  }

  clamp() {
    const box = this.panes.length ? this.panes[0].box : { width: 0, height: 0 };
    const room = 1 - 1 / this.zoom;
    const w = (box.width / 2) * room + (this.zoom > 1 ? 40 / this.zoom : 0);
    const h = (box.height / 2) * room + (this.zoom > 1 ? 40 / this.zoom : 0);
    this.across = Math.min(w, Math.max(-w, this.across));
    this.down = Math.min(h, Math.max(-h, this.down));
  }

  /** Show the whole garment again. */
  fit() {
    this.zoom = 1;
    this.across = 0;
    this.down = 0;
    this.changed();
  }
}
