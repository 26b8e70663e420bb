/** The number on the app's icon: how many duties ask something of who uses this phone, set by its pages and by a push. */
import { ANSWERING, isOfYoung, withAnswers } from './domain/answering';
import { asksOf } from './domain/duties';
import { once } from './domain/twice';
import type { Duty } from './pages/derived';
import type { Store } from './store';

interface Badging {
  setAppBadge?(count: number): Promise<void>;
}

/** How many duties ask something of who logs here. */
export async function countDue(store: Store, now: Date): Promise<number> {
  const [self, kept] = await Promise.all([store.self(), store.derivedOf<{ duties: Duty[] }>('duties')]);
  if (self === undefined) return 0;
  const counts = await Promise.all(kept.map(async ({ about, body }) => {
    const marks = about === null || body.duties.length === 0 ? [] : await store.about(about, 'mark');
    const duties = about !== null && body.duties.some(isOfYoung) ? await answered(store, about, body.duties, now) : body.duties;
    return duties.filter((duty) => asksOf(duty, marks, self.person, now)).length;
  }));
  return counts.reduce((all, one) => all + one, 0);
}

/** The duties of a batch, with what this phone has logged taken as done before the server has heard of it. */
async function answered(store: Store, id: string, duties: readonly Duty[], now: Date): Promise<readonly Duty[]> {
  const [batch, ...log] = await Promise.all([store.get(id), ...ANSWERING.map((kind) => store.about(id, kind))]);
  const litres = batch?.fields['litres'];
  return withAnswers(duties, once(log.flat()), now, typeof litres === 'number' ? litres : null);
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
