/** What the server does not have yet, counted. */
import type { Inside } from './device';
import { inState } from './schema';

/** How many writes are not on the server yet, of that person or of all; refused ones need attention and are not counted. */
export async function countWaiting(inside: Inside, person?: string): Promise<number> {
  return inside.connection.read(['outbox'], async (tx) => {
    const turns = tx.objectStore('outbox').index('turn');
    const states = ['waiting', 'later', 'whole'] as const;
    const counts = await Promise.all(states.map((state) => turns.count(person === undefined ? inState(state) : [state, person])));
    return counts.reduce((sum, count) => sum + count, 0);
  });
}
