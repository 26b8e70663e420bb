/** What is tapped on a notification is carried out without a page, as a page would: the mark and what sends it, or nothing. */
import { fieldsOf, USUAL_DELAY_MIN, type DutyMark } from '../domain/duties';
import { StoreTrouble, type Store } from '../store';
import { duties } from '../texts/en/duties';
import { tonight } from '../texts/en/tonight';

/** What a notification about a duty offers, in this order: systems show the first two or three. */
const ACTIONS: readonly { readonly action: string; readonly title: string; readonly mark: DutyMark }[] = [
  { action: 'done', title: tonight.duty.done, mark: { what: 'done' } },
  { action: 'later', title: duties.later, mark: { what: 'later', minutes: USUAL_DELAY_MIN } },
  { action: 'taken', title: tonight.duty.claim, mark: { what: 'taken' } },
];

/** The duty that a notification is about. */
export interface About {
  readonly duty: string;
  readonly brood: string;
}

/** The duty in a notification's data; nothing where it is about none. */
export function aboutIn(data: unknown): About | null {
  const { duty, brood } = (data ?? {}) as Partial<Record<keyof About, unknown>>;
  return typeof duty === 'string' && typeof brood === 'string' ? { duty, brood } : null;
}

/** The buttons of a notification about a duty, as many as this system shows. */
export function offered(about: About | null, most: number): { action: string; title: string }[] {
  return about === null ? [] : ACTIONS.slice(0, most).map(({ action, title }) => ({ action, title }));
}

/**
 * Write what the button says, and give the store it is in. Nothing where a page has to ask first: several share this
 * phone, so that it is not known who tapped; nobody has signed in; or the store cannot be opened or written now.
 */
export async function carryOut(open: () => Promise<Store>, about: About, action: string, now: Date): Promise<Store | null> {
  const mark = ACTIONS.find((one) => one.action === action)?.mark;
  if (mark === undefined) return null;
  try {
    const store = await open();
    const self = await store.self();
    if (self === undefined || self.isShared) return null;
    await store.add('mark', { about: about.brood, at: now.toISOString(), at_error_min: 0, ...fieldsOf(about.duty, mark, now) });
    return store;
  } catch (error) {
    // The page that opens says what is wrong.
    if (error instanceof StoreTrouble) return null;
    throw error;
  }
}
