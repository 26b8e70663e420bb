/** Wet glass: a second contact right after the first is the same finger, not a second wish. */

const SAME_FINGER_MS = 250;

/** Whether a contact at `at` ms repeats the one before it. */
export function isSecondContact(before: number | null, at: number): boolean {
  return before !== null && at - before >= 0 && at - before < SAME_FINGER_MS;
}

/** Hold back second contacts on the whole page while `on()` says so; the answer takes the guard away. */
export function guardContacts(on: () => boolean): () => void {
  let before: number | null = null;
  const guard = (event: MouseEvent): void => {
    // A key press also makes a click, with no contact behind it.
    if (event.detail === 0 || !on()) return;
    if (isSecondContact(before, event.timeStamp)) {
      event.preventDefault();
      event.stopImmediatePropagation();
    } else before = event.timeStamp;
  };
  addEventListener('click', guard, true);
  return () => removeEventListener('click', guard, true);
}
