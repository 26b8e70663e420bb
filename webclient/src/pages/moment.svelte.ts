/** The hour as the pages see it: handed in by the frame, moved on twice a minute and when the phone wakes. */

const STEP_MS = 30_000;

/** The present instant, for everything on a page that depends on the hour. */
export class Moment {
  now = $state<Date>(new Date(0));

  constructor(private readonly clock: () => Date) {
    this.now = clock();
  }

  /** Read the clock again, at once. */
  refresh(): Date {
    this.now = this.clock();
    return this.now;
  }

  /** Keep moving until the answer is called. */
  run(): () => void {
    const timer = setInterval(() => this.refresh(), STEP_MS);
    const wake = (): void => void this.refresh();
    document.addEventListener('visibilitychange', wake);
    return () => {
      clearInterval(timer);
      document.removeEventListener('visibilitychange', wake);
    };
  }
}
