/** Rounds of asking and answering until phone and server agree. */
import { CHANGES_LIMIT, type Said } from '../records/exchange';
import type { Batch, Store, Taken } from '../store';
import { refusalOf } from './api';
import type { Clocks, ServerClock } from './clock';
import type { FetchJson, Reply } from './http';

export interface Parts {
  store: Store;
  fetchJson: FetchJson;
  clock: ServerClock;
  around: Clocks;
}

// What is wrong with the request itself; the same request would be refused for ever.
const UNREADABLE = [400, 413, 422];

/** What came of a person's turn: whether the server is still computing, and how many entries are off the queue. */
export interface Turned {
  recomputing: boolean;
  settled: number;
}

/** Ask and answer in that person's name until nothing of his is left to send, nor anything to fetch; `tell` of how far it is. */
export async function agree(parts: Parts, person: string | undefined, tell: (percent: number) => Promise<void>): Promise<Turned> {
  let [limit, settled] = [CHANGES_LIMIT, 0];
  for (let clockTries = 0; ; ) {
    const reading = parts.clock.reading();
    const batch = await parts.store.sync.nextBatch(reading, limit, person);
    const reply = await ask(parts, batch);
    if (UNREADABLE.includes(reply.status) && batch.entries.length > 0) {
      limit = await narrow(parts, batch, reply);
      continue;
    }
    if (reply.status !== 200) throw refusalOf(reply.status, reply.body);
    const said = reply.body as Said;
    const taken = await parts.store.sync.take(batch, said);
    if (said.more && said.upto) await tell(Math.floor((100 * said.cursor) / said.upto));
    clockTries += taken.clock > 0 ? 1 : 0;
    settled += taken.settled;
    if (!isWorthAnother(taken, reading === null, clockTries)) return { recomputing: taken.recomputing, settled };
  }
}

function isWorthAnother(taken: Taken, asked: boolean, clockTries: number): boolean {
  if (taken.more) return true;
  if (taken.left === 0) return false;
  return asked || taken.settled > 0 || (taken.clock > 0 && clockTries < 2);
}

async function ask({ fetchJson, clock, around }: Parts, batch: Batch): Promise<Reply> {
  const began = { wallMs: around.wallMs(), elapsedMs: around.elapsedMs() };
  const reply = await fetchJson('/api/v1/sync', { method: 'POST', body: batch.request, person: batch.person ?? undefined });
  const now = Date.parse(String((reply.body as { now?: unknown } | null)?.now));
  if (!Number.isNaN(now)) clock.note(began, now);
  return reply;
}

/** One change that the server cannot read never holds up the others: halve the batch until it stands alone. */
async function narrow({ store }: Parts, batch: Batch, reply: Reply): Promise<number> {
  if (batch.entries.length > 1) return Math.ceil(batch.entries.length / 2);
  await store.sync.refuse(batch, refusalOf(reply.status, reply.body).message);
  return CHANGES_LIMIT;
}
