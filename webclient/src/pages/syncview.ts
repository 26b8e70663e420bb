/** The state of the sync in plain words. */
import type { SyncStatus } from '../sync';
import { texts } from '../texts';
import { agoWords } from '../ui/dates';
import type { SyncView } from '../ui/views';

const CLOCK_WORTH_SAYING_MS = 120_000;

function stateWords(status: SyncStatus, now: Date): string {
  const words = texts.frame.sync;
  if (status.state === 'offline') return words.offline;
  // Whoever has left the household is told so, in the server's words.
  if (status.state === 'signed_out') return status.trouble ?? words.signedOut;
  if (status.state === 'trouble') return words.trouble(status.trouble ?? '');
  if (status.coming !== undefined) return words.coming(status.coming);
  return status.agreedAt ? words.agreed(agoWords(new Date(status.agreedAt), now)) : words.agreedNever;
}

/** What to say of a status at `now`. */
export function syncView(status: SyncStatus, now: Date): SyncView {
  const off = Math.abs(status.clockOffMs);
  return {
    short: texts.frame.sync.short[status.state],
    text: stateWords(status, now),
    waiting: status.waiting === null ? '' : texts.frame.sync.waiting(status.waiting),
    clock: off > CLOCK_WORTH_SAYING_MS ? texts.frame.sync.clock(Math.round(off / 60_000)) : null,
    isWell: status.state === 'agreed' || status.state === 'working',
    isSignedOut: status.state === 'signed_out',
    maySignIn: status.state === 'signed_out' && status.trouble === null,
  };
}
