/** Texts of what was changed: earlier values, who wrote them, two that were written apart, and a device's wrong clock. */
import { counted } from './frame';

export const history = {
  title: 'What was changed', of: (what: string) => `What was changed: ${what}`, open: 'What it was before', ofBrood: 'All that was changed in this brood',
  none: 'Nothing was changed: it stands as it was first written.', noneOfBrood: 'Nothing of this brood was changed.',
  missing: 'This entry is not on this device. It may come with the next connection.', toBrood: 'To the brood', toHousehold: 'To the household', toNursery: 'To the nursery', whole: 'All of this entry',
  offline: 'No connection: earlier values that others wrote are shown with one.', kept: (when: string) => `No connection: shown as it was ${when}.`, looking: 'Looking up what it was before…', more: 'Show more',
  mayNot: 'A keeper or the owner can bring an earlier value back.',
  now: (value: string) => `Now: ${value}`, by: (who: string, phone: string, when: string) => [who, phone, when].filter((part) => part !== '').join(', '),
  replaced: (value: string, who: string) => `Replaced by ${value} (${who}).`, apart: 'Whoever did had not seen this one.', sameAgain: 'The same was written again.',
  waiting: 'not gone up yet', somebody: 'Somebody', thisDevice: 'on this device', onDevice: (device: string) => `with ${device}`,
  restore: 'Bring back', restoreOf: (field: string, value: string) => `Bring back ${field}: ${value}`, restored: (field: string, value: string) => `${field}: ${value} again`,
  two: {
    mark: 'Two people changed this', markOf: (what: string) => `Two people changed this: ${what}`, text: 'Neither had seen what the other wrote. Which is right?', oneOf: (what: string) => `Changed on two devices: ${what}`, oneText: 'Neither device had the change of the other yet. Which is right?', same: 'Both wrote the same.', ok: 'That is right',
    stands: 'stands now', keep: 'Keep', keepOf: (field: string, value: string) => `Keep ${field}: ${value}`, kept: (field: string, value: string) => `${field}: ${value} kept`,
    unknown: 'What the other one wrote is shown with a connection. What stands can be kept as it is.',
    title: 'Changed by two people', listText: 'Here two people wrote different things without having seen what the other wrote. The later one stands until somebody chooses.', none: 'Nothing waits to be settled.',
    count: (n: number) => `${counted(n, 'entry was', 'entries were')} changed by two people`, open: 'Settle it', which: (fields: string) => `Differs: ${fields}`,
  },
  clock: {
    ahead: (span: string) => `The device’s clock was ${span} ahead.`, behind: (span: string) => `The device’s clock was ${span} behind.`, wrong: 'The device’s clock was wrong around then.',
    doubtful: 'The time may be wrong.', said: (when: string) => `By its own clock: ${when}.`,
    span: { minutes: (n: number) => `${n} min`, hours: (h: number, min: number) => (min === 0 ? `${h} h` : `${h} h ${min} min`), days: (n: number) => counted(n, 'day', 'days') },
  },
  nothing: 'nothing', underWay: 'under way', yes: 'yes', no: 'no', quoted: (text: string) => `“${text}”`, minutes: (n: number) => `${n} min`, another: 'another one', taken: { true: 'taken out', false: 'there' },
  entry: { look: (when: string) => `Look, ${when}`, reading: (when: string) => `Temperature, ${when}`, feeding: (when: string) => `Feeding, ${when}`, photo: (when: string) => `Photo, ${when}`, brood: (name: string) => `${name}’s brood`, mark: (what: string, when: string) => `${what}, ${when}`, rota: (name: string) => `${name}’s turn`, culture: (when: string) => `Hatch set going, ${when}`, count: (when: string) => `Count of young, ${when}`, water_test: (when: string) => `Water test, ${when}`, water_change: (when: string) => `Water change, ${when}`, other: 'An entry' },
};
