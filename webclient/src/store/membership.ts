/** Who uses this phone, and which household's records lie on it. */
import { meta, putMeta, type Inside } from './device';
import type { Person } from './schema';
import { StoreTrouble } from './trouble';

/** Note who signed in, and tell whether that is news; `other_household` while the records of another one lie here. */
export function enter(inside: Inside, person: Person): Promise<boolean> {
  return inside.connection.write(['meta', 'records'], 'strict', async (tx) => {
    const before = await meta(tx, 'self');
    if (before !== undefined && isSame(before, person)) return false;
    const isOther = before !== undefined && before.householdId !== person.householdId;
    if (isOther && (await tx.objectStore('records').count()) > 0) throw new StoreTrouble('other_household');
    if (isOther) await tx.objectStore('meta').delete('agreement');
    await putMeta(tx, 'self', person);
    return true;
  });
}

function isSame(before: Person, person: Person): boolean {
  return (Object.keys(person) as (keyof Person)[]).every((key) => before[key] === person[key]);
}

/** Take every record off this phone, and what belongs to them, at a person's word alone, so that another household can use it. */
export async function clearPhone(inside: Inside): Promise<void> {
  await inside.connection.write(['meta', 'records', 'outbox', 'derived', 'settings'], 'strict', async (tx) => {
    const all = (['records', 'outbox', 'derived', 'settings'] as const).map((name) => tx.objectStore(name).clear());
    await Promise.all([...all, tx.objectStore('meta').delete('self'), tx.objectStore('meta').delete('agreement')]);
  });
}
