/** Who uses this phone, who shares it, and which household's records lie on it. */
import { meta, putMeta, type Inside } from './device';
import type { Member, Person, Reading, Writing } from './schema';
import { StoreTrouble } from './trouble';

/** Those who may log on this phone, in the order in which they came: each has signed in here, and not out again. */
export function members(inside: Inside): Promise<Member[]> {
  return inside.connection.read(['meta'], membersIn);
}

/** Note who signed in and is to log now, and tell whether that is news; `other_household` while the records of another one lie here. */
export function enter(inside: Inside, person: Person): Promise<boolean> {
  return inside.connection.write(['meta', 'records', 'derived'], 'strict', async (tx) => {
    const before = await meta(tx, 'self');
    const isOther = before !== undefined && before.householdId !== person.householdId;
    if (isOther && (await tx.objectStore('records').count()) > 0) throw new StoreTrouble('other_household');
    // What was derived for another household is none of theirs, and its higher revisions would keep their own out.
    if (isOther) await Promise.all([tx.objectStore('meta').delete('agreement'), tx.objectStore('derived').clear()]);
    const held = isOther ? [] : await membersIn(tx);
    const isNews = await putMembers(tx, withMember(held, { ...person, isOut: false }), person);
    if (before !== undefined && isSame(before, person)) return isNews;
    await putMeta(tx, 'self', person);
    return true;
  });
}

/** Note what the server says of somebody who shares the phone, and that he is signed in; tells whether that is news. */
export function meet(inside: Inside, person: Person): Promise<boolean> {
  return inside.connection.write(['meta'], 'strict', async (tx) => {
    const [self, held] = [await meta(tx, 'self'), await membersIn(tx)];
    const isSelf = self?.person === person.person;
    // Who signed himself out while he was asked about does not come back by the answer.
    const isNews = isAmong(held, person.person) && (await putMembers(tx, withMember(held, { ...person, isOut: false }), self));
    if (!isSelf || isSame(self, person)) return isNews;
    await putMeta(tx, 'self', person);
    return true;
  });
}

/** Let that member log from now on; `unknown` for anybody else. */
export function choose(inside: Inside, person: string): Promise<void> {
  return inside.connection.write(['meta'], 'strict', async (tx) => {
    const chosen = (await membersIn(tx)).find((member) => member.person === person);
    if (chosen === undefined) throw new StoreTrouble('unknown');
    const { isOut: _isOut, ...self } = chosen;
    await putMeta(tx, 'self', self);
  });
}

/** The server knows no session of his on this phone any more: what he logs is kept and waits for him to sign in. */
export function noteOut(inside: Inside, person: string): Promise<boolean> {
  return inside.connection.write(['meta'], 'strict', async (tx) => {
    const [self, held] = [await meta(tx, 'self'), await membersIn(tx)];
    return putMembers(tx, held.map((member) => (member.person === person ? { ...member, isOut: true } : member)), self);
  });
}

/** He has left the household: nothing goes up in his name any more, so what waits of his needs somebody's attention. */
export function strand(inside: Inside, person: string, reason: string): Promise<void> {
  return inside.connection.write(['meta', 'outbox'], 'strict', async (tx) => {
    const outbox = tx.objectStore('outbox');
    // Also what waits for a newer server: once that is there it would wait for him.
    const waiting = await Promise.all((['waiting', 'later'] as const).map((state) => outbox.index('turn').getAll([state, person])));
    await Promise.all(waiting.flat().map((entry) => outbox.put({ ...entry, state: 'refused', reason })));
    await putMembers(tx, (await membersIn(tx)).filter((member) => member.person !== person), await meta(tx, 'self'));
  });
}

/** He signed himself out: another who shares the phone logs now. The last one stays the one who logs, as a phone must have one. */
export function leave(inside: Inside, person: string): Promise<void> {
  return inside.connection.write(['meta'], 'strict', async (tx) => {
    const left = (await membersIn(tx)).filter((member) => member.person !== person);
    const self = await meta(tx, 'self');
    const [next] = left;
    const { isOut: _isOut, ...logging } = next ?? { isOut: false };
    const heir = self?.person === person && next ? (logging as Person) : self;
    if (heir !== undefined) await putMeta(tx, 'self', heir);
    await putMembers(tx, left, heir);
  });
}

/** Take every record off this phone, and what belongs to them, at a person's word alone, so that another household can use it. */
export async function clearPhone(inside: Inside): Promise<void> {
  await inside.connection.write(['meta', 'records', 'outbox', 'derived', 'settings', 'photos', 'pictures'], 'strict', async (tx) => {
    const all = (['records', 'outbox', 'derived', 'settings', 'photos', 'pictures'] as const).map((name) => tx.objectStore(name).clear());
    const own = (['self', 'members', 'agreement'] as const).map((name) => tx.objectStore('meta').delete(name));
    await Promise.all([...all, ...own]);
  });
}

/** The members as they are kept; a phone that one person uses keeps no list of them. */
export async function membersIn(tx: Reading | Writing): Promise<Member[]> {
  const [kept, self] = [await meta(tx, 'members'), await meta(tx, 'self')];
  return kept ?? (self === undefined ? [] : [{ ...self, isOut: false }]);
}

async function putMembers(tx: Writing, list: Member[], self: Person | undefined): Promise<boolean> {
  const before = await meta(tx, 'members');
  const [only] = list;
  const isAlone = list.length === 1 && only !== undefined && !only.isOut && only.person === self?.person;
  const after = isAlone ? undefined : list;
  if (JSON.stringify(before) === JSON.stringify(after)) return false;
  if (after === undefined) await tx.objectStore('meta').delete('members');
  else await putMeta(tx, 'members', after);
  return true;
}

function withMember(list: readonly Member[], member: Member): Member[] {
  if (!isAmong(list, member.person)) return [...list, member];
  return list.map((other) => (other.person === member.person ? member : other));
}

function isAmong(list: readonly Member[], person: string): boolean {
  return list.some((member) => member.person === person);
}

function isSame(before: Person, person: Person): boolean {
  return (Object.keys(person) as (keyof Person)[]).every((key) => before[key] === person[key]);
}
