/** The number on the app's icon: how many duties ask something of who uses this phone, set by its pages and by a push. */
import { ANSWERING, isOfYoung, withAnswers } from './domain/answering';
import { asksOf } from './domain/duties';
import type { Duty } from './pages/derived';
import type { Rec, Store } from './store';

interface Badging {
  setAppBadge?(count: number): Promise<void>;
}

/** How many duties ask something of who logs here. */
export async function countDue(store: Store, now: Date): Promise<number> {
  const [self, kept] = await Promise.all([store.self(), store.derivedOf<{ duties: Duty[] }>('duties')]);
  if (self === undefined) return 0;
  const counts = await Promise.all(kept.map(async ({ about, body }) => {
    const marks = about === null || body.duties.length === 0 ? [] : await store.about(about, 'mark');
    const duties = about !== null && body.duties.some(isOfYoung) ? withAnswers(body.duties, await logOf(store, about), now) : body.duties;
    return duties.filter((duty) => asksOf(duty, marks, self.person, now)).length;
  }));
  return counts.reduce((all, one) => all + one, 0);
}

/** What this phone has logged of a batch: it may answer a duty before the server has heard of it. */
async function logOf(store: Store, batch: string): Promise<Rec[]> {
  return (await Promise.all(ANSWERING.map((kind) => store.about(batch, kind)))).flat();
}

/** Put that number on the icon, where the system has room for one; 0 takes it off. */
export async function showBadge(on: object, count: number): Promise<void> {
  try {
    await (on as Badging).setAppBadge?.(count);
  } catch (error) {
    // An app that is not installed, or whose notices are not allowed, has no icon to write on.
    if (!(error instanceof DOMException)) throw error;
  }
}

const STEP_MS = 60_000;

/** Keep the badge true while a page is open. */
export function keepBadge(store: Store, clock: () => Date): void {
  let shown: number | null = null;
  const renew = async (): Promise<void> => {
    const count = await countDue(store, clock());
    if (count === shown) return;
    shown = count;
    await showBadge(navigator, count);
  };
  store.onChange(() => void renew());
  setInterval(() => void renew(), STEP_MS);
  void renew();
}
