/** What the server does not have yet, counted. */
import type { Inside } from './device';
import { inState } from './schema';

/** How many writes are not on the server yet; refused ones need attention and are not counted. */
export async function countWaiting(inside: Inside): Promise<number> {
  return inside.connection.read(['outbox'], async (tx) => {
    const turns = tx.objectStore('outbox').index('turn');
    const states = ['waiting', 'later', 'whole'] as const;
    const counts = await Promise.all(states.map((state) => turns.count(inState(state))));
    return counts.reduce((sum, count) => sum + count, 0);
  });
}
