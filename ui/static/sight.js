// A board that lies further down the leaflet is fetched anew only when somebody comes near it: each takes Python as long
// as the edit itself, and would be made for nobody at every line that is moved.

const NEAR = "300px"; // so far beyond the edge it is fetched already

/** Knows whether an element is in sight, and calls `follow` when it comes near and was put off meanwhile. */
export class Sight {
  constructor(element, follow) {
    this.element = element;
    this.near = true;
    new IntersectionObserver(
      (entries) => {
        this.near = entries[entries.length - 1].isIntersecting;
        if (this.near && this.putOff) follow();
      },
      { rootMargin: NEAR, scrollMargin: NEAR },
    ).observe(element);
  }

  /** Whether what has changed may wait: what is shown stands where nobody looks. What is not shown yet is not put off. */
  later() {
    this.putOff = !this.near && !this.element.hidden;
    return this.putOff;
  }
}
