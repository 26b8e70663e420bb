/** A device's wrong clock in plain words, from the entry that it dated. */
import { describe, expect, it } from 'vitest';
import { aheadMs, clockWords, ownClockWords, spanWords } from '../../src/pages/clockwords';
import { editBack } from '../../src/pages/writes';
import { timeChanges } from '../../src/pages/correcting';
import { momentWords } from '../../src/ui/dates';
import { agree, begin, START } from '../machine/agreement';
import { restart } from '../machine/world';
import { LAMPS } from './phone';
import { record } from './records';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const ZONE = 'Europe/Copenhagen';
const NOW = new Date(START);

describe('how far a clock was off', () => {
  it.each([[4 * MINUTE, '4 min'], [3 * HOUR + 12 * MINUTE, '3 h 12 min'], [-5 * HOUR, '5 h'], [49 * HOUR, '49 h'], [365 * DAY, '365 days'], [3 * DAY, '3 days']])('%i ms is %s', (ms, said) => expect(spanWords(ms)).toBe(said));

  it.each([['never', 3 * HOUR + 12 * MINUTE, 'The device’s clock was 3 h 12 min ahead.'], ['after', -365 * DAY, 'The device’s clock was 365 days behind. The time may be wrong.']] as const)(
    'is read off what the correction wrote, page closed %s', async (when, ahead, said) => {
      const { world, server, phone } = await begin();
      phone.aheadMs = ahead;
      const look = await phone.store.add('look', { mouth: 'full' });
      world.nowMs += HOUR;
      if (when === 'after') await restart(world, phone);
      await agree(world, server, phone);
      const put = await phone.store.get(look.id);
      const off = aheadMs(await phone.store.writings(look.id));
      expect(off).toBe(ahead);
      expect(put && clockWords(put, off)).toBe(said);
      expect(put && ownClockWords(put, ZONE, NOW)).toBe(`By its own clock: ${momentWords(new Date(START + ahead), ZONE, NOW)}.`);
      await phone.store.close();
    },
  );

  it('is not said any more of what somebody has dated by hand since', async () => {
    const { world, server, phone } = await begin();
    phone.aheadMs = 5 * HOUR;
    const look = await phone.store.add('look', { mouth: 'full' });
    await restart(world, phone);
    await agree(world, server, phone);
    phone.aheadMs = 0;
    const held = await phone.store.get(look.id);
    if (held === undefined) throw new Error('the look is gone');
    const time = { timing: { when: 'other' as const, other: new Date(START - DAY) }, isRight: false };
    await editBack(phone.store, held, timeChanges(time, held, LAMPS, new Date(START)));
    const corrected = await phone.store.get(look.id);
    const off = aheadMs(await phone.store.writings(look.id));
    expect(off).toBeNull();
    expect(corrected && clockWords(corrected, off)).toBeNull();
    await phone.store.close();
  });

  it('is nothing where the clock was right, and a doubt alone where nothing was moved', () => {
    const right = record('look', { at: '2026-11-25T20:00:00Z' });
    expect([clockWords(right, null), ownClockWords(right, ZONE, NOW)]).toEqual([null, null]);
    const doubted = record('look', { at: '2026-11-25T20:00:00.000Z', at_phone: '2026-11-25T20:00:00.000Z', clock_doubtful: true });
    expect(clockWords(doubted, 0)).toBe('The device’s clock was wrong around then. The time may be wrong.');
  });
});
