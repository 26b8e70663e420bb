/** What is logged of young, as *What was changed* and *Needs attention* name it. */
import { describe, expect, it } from 'vitest';
import { entryTitle, fieldWords, knownOf, subjectWords, valueWords } from '../../src/pages/historywords';
import { choicesOf, labelOf, typedWrong, wayOf } from '../../src/pages/mending';
import { askedLabel, meantFields, shownFields } from '../../src/pages/attending';
import { KINDS } from '../../src/records/kinds';
import { later } from '../../src/texts/later';
import { momentWords } from '../../src/ui/dates';
import { NOW, phoneOf } from './phone';

const ZONE = 'Europe/Copenhagen';

describe('what was changed', () => {
  it('names batches and tins by their names, and what is logged by its hour and its batch', async () => {
    const store = await phoneOf('keeper');
    const batch = await store.add('batch', { name: 'Cube A', ended: 'weaned', how: 'at_least', jug_litres: 1.5 });
    const tin = await store.add('food', { name: 'Red tin', sort: 'brine_shrimp' });
    const hatch = await store.add('culture', { about: batch.id, food_id: tin.id, at: NOW.toISOString() });
    const test = await store.add('water_test', { about: batch.id, at: NOW.toISOString(), ammonia_mg_l: 0.2 });
    const known = await knownOf(store, NOW, ZONE);
    const when = momentWords(NOW, ZONE, NOW);
    expect([batch, tin, hatch, test].map((record) => entryTitle(record, known))).toEqual(['Cube A', 'Red tin', `Hatch set going, ${when}`, `Water test, ${when}`]);
    expect([subjectWords(test, known), subjectWords(tin, known)]).toEqual(['Cube A', null]);
    const said = (record: typeof batch, name: string): string => valueWords(record, name, record.fields[name] ?? null, known);
    expect([said(batch, 'ended'), said(batch, 'how'), said(batch, 'jug_litres'), said(hatch, 'food_id'), said(tin, 'sort')]).toEqual(['Weaned', 'At least', '1.5 L', 'Red tin', 'Brine shrimp']);
    expect(fieldWords(test, 'ammonia_mg_l')).toBe('Total ammonia, mg/L N');
    await store.close();
  });
});

describe('a refused entry', () => {
  it('of any kind has a name', () => {
    expect(KINDS.filter((kind) => kind !== 'trust' && !(kind in later.household.attention.kinds))).toEqual([]);
  });

  it('asks for words where there are some to choose from, for numbers and truths by their kind', () => {
    expect(['belly', 'took'].map((name) => wayOf('feeding', name))).toEqual(['choice', 'choice']);
    expect([wayOf('count', 'how'), wayOf('count', 'alive'), wayOf('food', 'finished'), wayOf('batch', 'portion')]).toEqual(['choice', 'number', 'truth', 'text']);
    expect(choicesOf('batch', 'ended')).toEqual({ weaned: 'Weaned', lost: 'All lost', mistake: 'Opened by mistake' });
    expect([typedWrong('count', 'alive', 'many'), typedWrong('count', 'alive', '12')]).toEqual(['This must be a number.', null]);
    expect([labelOf('belly'), askedLabel('jug_litres', { temperature: 'C', volume: 'gal' })]).toEqual(['Bellies', 'One of it holds, gal']);
  });

  it('is mended in the units of this device', () => {
    const fields = { name: 'Cube A', jug_litres: 1.5 };
    const units = { temperature: 'F', volume: 'gal' } as const;
    expect(shownFields('batch', fields, units)).toEqual({ name: 'Cube A', jug_litres: '0.4' });
    expect(meantFields('batch', fields, { name: 'Cube A', jug_litres: '0.4' }, units)).toEqual(fields);
  });
});
