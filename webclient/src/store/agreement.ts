/** How far this phone and the server have come, and what a new epoch of the server's changes in it. */
import type { Answer } from '../records/exchange';
import { meta } from './device';
import type { Agreement, Reading, Writing } from './schema';

const NOT_MET: Agreement = {
  cursor: 0,
  database: null,
  epoch: null,
  bringing: null,
  pulled: false,
  server_schema: 0,
  greatest: null,
  greatest_own: null,
  agreed_at: null,
};

/** The agreement as it stands. */
export async function agreement(tx: Reading | Writing): Promise<Agreement> {
  return (await meta(tx, 'agreement')) ?? NOT_MET;
}

/** The epoch that the phone is agreeing with, null before the first answer. */
export function towards(agreed: Agreement): string | null {
  return agreed.bringing ?? agreed.epoch;
}

/** Whether the server was restored from a backup since the last answer: it may lack what this phone holds. */
export function isNewEpoch(agreed: Agreement, answer: Answer): boolean {
  return towards(agreed) !== null && answer.epoch !== towards(agreed);
}

/** The agreement after that answer's page, which was asked for from the cursor `asked`. */
export function advanced(agreed: Agreement, answer: Answer, asked: number): Agreement {
  const next = { ...agreed, database: answer.database ?? agreed.database, server_schema: answer.schema };
  if (towards(agreed) === null) next.epoch = answer.epoch;
  // A page from beyond our cursor leaves out what lies between.
  if (asked <= agreed.cursor) next.cursor = Math.max(agreed.cursor, answer.cursor);
  if (answer.more || asked > agreed.cursor) return next;
  return { ...next, pulled: true, agreed_at: answer.now };
}

/** The agreement at the start of bringing back all that the phone holds. */
export function restarted(agreed: Agreement, answer: Answer): Agreement {
  return {
    ...agreed,
    database: answer.database ?? agreed.database,
    epoch: agreed.epoch,
    bringing: answer.epoch,
    cursor: 0,
    pulled: false,
    // A newer one is noted with the next answer, and then what it did not know before is sent again.
    server_schema: Math.min(agreed.server_schema, answer.schema),
    set_back: { epoch: answer.epoch, brought: 0 },
  };
}

/** The agreement after so many more records were brought back. */
export function withBrought(agreed: Agreement, count: number): Agreement {
  const { set_back: held } = agreed;
  return held === undefined ? agreed : { ...agreed, set_back: { ...held, brought: held.brought + count } };
}

/** The agreement once all has been brought back. */
export function broughtBack(agreed: Agreement): Agreement {
  return { ...agreed, epoch: agreed.bringing ?? agreed.epoch, bringing: null };
}
