/** Who is away: whole days by this device's clock, written and read back, over a change of the clocks too. */
import { describe, expect, it } from 'vitest';
import { absencesAhead, addAbsence, areAllAway } from '../../src/pages/absences';
import { START } from '../machine/scene';
import { ANNA, newPhone } from '../machine/world';

const ZONE = 'Europe/Copenhagen';
const NOW = new Date(START);

async function phone() {
  return (await newPhone({ nowMs: START }, 1, ANNA)).store;
}

describe('an absence', () => {
  it('is written from midnight to the midnight after its last day, and read back as the same days', async () => {
    const store = await phone();
    await addAbsence(store, 'p-ben', '2026-11-27', '2026-11-30', ZONE);
    const records = await store.ofKind('absence');
    expect(records[0]?.fields).toMatchObject({ person: 'p-ben', since: '2026-11-26T23:00:00.000Z', until: '2026-11-30T23:00:00.000Z' });
    expect(absencesAhead(records, ZONE, NOW)).toMatchObject([{ person: 'p-ben', from: '2026-11-27', to: '2026-11-30' }]);
    await store.close();
  });

  it('of one day lasts that day, also where the clocks go forward in it', async () => {
    const store = await phone();
    await addAbsence(store, 'p-ben', '2027-03-28', '2027-03-28', ZONE);
    const records = await store.ofKind('absence');
    const { since, until } = records[0]?.fields as { since: string; until: string };
    expect(Date.parse(until) - Date.parse(since)).toBe(23 * 3_600_000);
    expect(absencesAhead(records, ZONE, NOW)).toMatchObject([{ from: '2027-03-28', to: '2027-03-28' }]);
    await store.close();
  });

  it('that is over, or was taken back, is not shown any more', async () => {
    const store = await phone();
    const back = await addAbsence(store, 'p-ben', '2026-11-26', '2026-11-27', ZONE);
    await addAbsence(store, 'p-anna', '2026-11-26', '2026-11-26', ZONE);
    const later = new Date('2026-11-27T12:00:00Z');
    expect(absencesAhead(await store.ofKind('absence'), ZONE, later)).toMatchObject([{ person: 'p-ben' }]);
    await back();
    expect(absencesAhead(await store.ofKind('absence'), ZONE, later)).toEqual([]);
    await store.close();
  });

  it('that a helper takes back says no time any more, for he may take nothing away', async () => {
    const store = await phone();
    await store.sync.enter({ ...ANNA, role: 'helper' });
    const back = await addAbsence(store, 'p-ben', '2026-11-26', '2026-11-27', ZONE);
    await back();
    expect(absencesAhead(await store.ofKind('absence'), ZONE, NOW)).toEqual([]);
    await store.close();
  });

  it('leaves a night free as long as one of the household is at home', async () => {
    const store = await phone();
    const people = { household: { id: 'h', name: 'Reef Street' }, people: [['p-anna', false], ['p-ben', false], ['p-cleo', true]].map(([id, gone]) => ({ id, name: '', role: 'keeper', gone })) } as unknown as Parameters<typeof areAllAway>[1];
    const at = new Date('2026-11-27T21:00:00Z');
    await addAbsence(store, 'p-anna', '2026-11-27', '2026-11-28', ZONE);
    expect(areAllAway(await store.ofKind('absence'), people, at)).toBe(false);
    await addAbsence(store, 'p-ben', '2026-11-27', '2026-11-27', ZONE);
    expect(areAllAway(await store.ofKind('absence'), people, at)).toBe(true);
    expect(areAllAway(await store.ofKind('absence'), people, new Date('2026-11-28T21:00:00Z'))).toBe(false);
    expect(areAllAway(await store.ofKind('absence'), undefined, at)).toBe(false);
    await store.close();
  });
});
