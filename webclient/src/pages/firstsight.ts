/** The first page comes first: what else the client does at its start waits until that page can be seen. */

/** A page that cannot come must not hold up the rest. */
const LONGEST_MS = 3_000;

/** Whether the first page stands, told by the page or by the frame. */
export class FirstSight {
  /** Fulfilled once the first page has been painted. */
  readonly over: Promise<void>;
  private tell: () => void = () => undefined;

  constructor() {
    this.over = new Promise((resolve) => (this.tell = resolve));
    setTimeout(this.tell, LONGEST_MS);
  }

  /** What the page has to show is in place. */
  stands(): void {
    // Nothing is painted where nobody looks; else the callback comes just before the painting, its task just after.
    if (document.hidden) this.tell();
    else requestAnimationFrame(() => setTimeout(this.tell));
  }
}
