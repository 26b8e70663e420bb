/** Whose a refused entry is, what may be done with it, and its measures in the units of the device. */
import { describe, expect, it } from 'vitest';
import { askedLabel, mayDo, mayWrite, meantFields, shownFields, whoseWords } from '../../src/pages/attending';
import type { Attention } from '../../src/store';

const entry = (changes: Partial<Attention> = {}): Attention => ({ id: 1, record: 'r', kind: 'look', fields: { mouth: 'full' }, reason: 'no', at: '2026-11-25T20:00:00.000Z', by: 'jonas', isNew: true, ...changes });
const MIRA = { person: 'mira', role: 'owner' };
const TOVE = { person: 'tove', role: 'helper' };
const PEOPLE = { household: { id: 'h', name: 'Tern Quay 4' }, people: [{ id: 'jonas', name: 'Jonas', role: 'keeper' as const, gone: false }] };
const US = { temperature: 'F', volume: 'gal' } as const;

describe('a refused entry', () => {
  it('is one’s own to send again', () => {
    expect([mayDo(entry({ by: 'mira' }), MIRA), whoseWords(entry({ by: 'mira' }), MIRA, PEOPLE)]).toEqual(['send', null]);
  });

  it('of another goes up in one’s own name where the server has nothing of it, else as one’s correction', () => {
    expect(mayDo(entry(), MIRA)).toBe('takeOver');
    expect(whoseWords(entry(), MIRA, PEOPLE)).toMatch(/^Jonas wrote this on this device\. Jonas can send it .* in your name\.$/);
    expect(mayDo(entry({ isNew: false }), MIRA)).toBe('send');
    expect(whoseWords(entry({ isNew: false }), MIRA, undefined)).toBe('Another person wrote this on this device. Sent again, it is your correction.');
  });

  it('that is a keeper’s cannot be sent by a helper, whoever wrote it', () => {
    for (const kept of [entry({ kind: 'tank', by: 'tove' }), entry({ kind: 'fish' }), entry({ kind: 'trust' }), entry({ fields: { gone: true } })]) {
      expect([mayDo(kept, TOVE), mayDo(kept, MIRA)]).toEqual(['nothing', kept.by === 'mira' ? 'send' : 'takeOver']);
      expect(whoseWords(kept, TOVE, PEOPLE)).toMatch(/^A helper cannot send this\. Export it/);
    }
  });
});

describe('a field', () => {
  it('of a tank or fish, and that something is gone, is written by a keeper or the owner alone', () => {
    expect([mayWrite('tank', 'name', 'helper'), mayWrite('look', 'gone', 'helper'), mayWrite('look', 'mouth', 'helper'), mayWrite('tank', 'name', 'keeper')]).toEqual([false, false, true, true]);
  });
});

describe('its measures', () => {
  const fields = { name: 'Hall tank', set_point_c: 126.5, litres: 240 };
  it('are shown in the units of the device, and kept as they were where nobody touched them', () => {
    const shown = shownFields('tank', fields, US);
    expect(shown).toEqual({ name: 'Hall tank', set_point_c: '259.7', litres: '63.4' });
    expect(meantFields('tank', fields, shown, US)).toEqual(fields);
    expect([askedLabel('set_point_c', US), askedLabel('litres', US), askedLabel('name', US)]).toEqual(['Water is kept at, °F', 'Volume, gal', 'Name']);
  });

  it('are kept in °C and litres where they were typed anew', () => {
    expect(meantFields('tank', fields, { name: 'Hall', set_point_c: '79.0', litres: '55' }, US)).toEqual({ name: 'Hall', set_point_c: 26.111, litres: 208.198 });
    expect(meantFields('tank', fields, { set_point_c: 'warm' }, US)).toEqual({ set_point_c: 'warm' });
  });
});
