/** Texts of Household: tanks, males, people, devices, sync state, and what needs attention. */
import { AT_HATCHING, IN_THE_MOUTH, NEST, type Way } from '../../domain/ways';
import { counted } from './frame';

/** What is said of a male that holds in his mouth, and of one that guards a nest. */
const ofWays = (mouth: string, nest: string): Readonly<Record<Way, string>> => ({ [IN_THE_MOUTH]: mouth, [AT_HATCHING]: mouth, [NEST]: nest });

export const household = {
  title: 'Household',
  tanks: { title: 'Tanks', none: 'No tank yet.', add: 'Add a tank', temperature: 'Temperature', temperatureOf: (name: string) => `Temperature of ${name}`, edit: 'Change', editOf: (name: string) => `Change ${name}`, lamps: 'Lamps', lampsWords: (on: string, out: string) => `on ${on}, out ${out}`, zone: 'Zone', water: 'Water', company: 'Company', alone: 'he and his mate alone', others: 'other fish', volume: 'Volume' },
  fish: {
    title: 'Males', none: 'No male yet.', add: 'Begin a watch', holds: ofWays('holds now', 'guards a clutch'), rests: ofWays('does not hold', 'no clutch now'), edit: 'Change', editOf: (name: string) => `Change ${name}`, save: 'Save', saved: (name: string) => `${name} changed`,
    gone: 'He is no longer here', goneText: 'His broods and looks stay. He is not offered for a new watch any more.', goneHolds: ofWays('He holds now. Say first how that ended, on the page of his brood.', 'He guards a clutch now. Say first how that ended, on the page of his brood.'), toBrood: 'To his brood', goneSaved: (name: string) => `${name} is no longer here`,
    away: (n: number) => `No longer here: ${n}`, back: 'He is back', backOf: (name: string) => `${name} is back`,
  },
  mayNot: 'A keeper or the owner changes tanks and males.',
  units: { title: 'Units on this device', temperature: 'Temperature', celsius: '°C', fahrenheit: '°F', volume: 'Volume', litres: 'Litres', gallons: 'US gallons' },
  signedOut: { text: 'Signed out on this device. What is logged is kept here. People, devices and reminders can be changed once you are in again.', first: 'Sign in to change this.', left: 'This is for people of the household.' },
  people: { title: 'People', you: 'you', gone: 'left', invite: 'Invite', name: 'Their name', role: 'Role', helper: 'Helper: logs looks and does duties', keeper: 'Keeper: may also change tanks and males', make: 'Make a link', link: 'Send this link to them. It works once, for 48 hours.', copy: 'Copy', copied: 'Copied', remove: 'Remove', removeOf: (name: string) => `Remove ${name}`, sure: (name: string) => `Remove ${name}? They are out on every device at once. What they logged stays. Sensors go on writing: revoke those that they set up on the page of the tank.`,
    leave: 'Leave the household', sureToLeave: (household: string, n: number) => `Leave ${household}? What you logged stays there, with your name. You come back only by an invitation.${n === 0 ? '' : ` ${counted(n, 'entry has', 'entries have')} not gone up: leave when none waits, or they stay on this device alone.`}`,
    again: 'Invite again', againOf: (name: string) => `Invite ${name} again`, linkAgain: (name: string) => `Send this link to ${name}, who comes back as the same person. It works once, for 48 hours.`, offline: 'People can be invited with a connection.' },
  absent: {
    title: 'Who is away', none: 'Nobody is away.', text: 'Who is away is not reminded, unless he has taken a duty or nobody is at home.', add: 'Somebody is away', who: 'Who', from: 'First day away', to: 'Last day away', earlier: 'One day earlier', later: 'One day later',
    save: 'Save', saved: (name: string) => `${name} is away`, span: (from: string, to: string) => (from === to ? from : `${from} to ${to}`), takeOut: 'Take out', takeOutOf: (name: string, span: string) => `Take out: ${name} away ${span}`, takenOut: 'Absence taken out', somebody: 'Somebody',
  },
  rota: {
    title: 'Whose turn', text: 'Whoever has the evening is asked first; an hour before, what nobody has taken goes to everybody. On an evening without a turn everybody is asked when it is time.',
    of: (name: string) => `Evenings of ${name}`, saved: (name: string, day: string, isHis: boolean) => (isHis ? `${day}: ${name}’s turn` : `${day}: no longer ${name}’s turn`),
  },
  phones: { title: 'Devices', this: 'this device', seen: (when: string) => `seen ${when}`, remove: 'Sign it out', offline: 'Shown with a connection.', signOut: 'Sign out on this device', signOutText: 'What is logged stays on this device.' },
  remind: { title: 'Reminders on this device', on: 'This device is reminded when something is due.', last: (when: string) => `The last one came ${when}.`, off: 'This device is not reminded yet.', turnOn: 'Remind me on this device', turnOff: 'Remind me no more', denied: 'The browser does not allow it. Allow notifications for this address in its settings.', absent: 'This browser cannot be reminded; on an iPhone, first add Holdwatch to the home screen.' },
  sync: { title: 'This device', export: 'Export what has not gone up', exportText: 'A file with every entry that so far is only on this device.',
    leave: 'Another household on this device', leaveText: 'Then this household’s records must leave it first. Export them if anything has not gone up.', exportAll: 'Export all', clear: 'Clear this device',
    sure: (n: number) => (n === 0 ? 'Clear this device? All of it is with the household.' : `Clear this device? ${counted(n, 'entry is', 'entries are')} only here and would be lost.`) },
  attention: { title: 'Needs attention', none: 'Nothing needs attention.', text: 'These entries were not taken by the household. They are kept here. Correct what is wrong and send them again, or export them.', count: (n: number) => counted(n, 'entry was not taken', 'entries were not taken'), open: 'See them', again: 'Send it again', sent: 'Sent again', export: 'Export', drop: 'Leave it out', dropped: 'Left out', takeOver: 'Send it in my name', takenOver: 'Sent in your name',
    whose: {
      somebody: 'Another person', keepers: 'A helper cannot send this. Export it, or let a keeper or the owner sign in on this device and send it.',
      takeOver: (name: string) => `${name} wrote this on this device. ${name} can send it once signed in here; or it goes up in your name.`,
      correct: (name: string) => `${name} wrote this on this device. Sent again, it is your correction.`,
    },
    fields: { at: 'When', at_error_min: 'Give or take, in minutes', not_before: 'Not before', not_after: 'Not after', ended: 'How it ended', ended_at: 'When it ended', kept: 'Young kept', light: 'Light', mouth: 'Mouth', eggs: 'Eggs', tails: 'Tails', loose_fry: 'Loose young', food: 'Food', took: 'Took', clutch: 'Clutch', note: 'Note', name: 'Name', spot: 'Where he is found', species: 'Species', sex: 'Sex', zone: 'Time zone', set_point_c: 'Water is kept at', temperature_c: 'Temperature', lamps_out: 'Lamps go out', lamps_on: 'Lamps come on', company: 'Company', litres: 'Volume', what: 'What', person: 'Person', since: 'From', until: 'Until', weekdays: 'Evenings', yolk: 'Young with yolk sac', free: 'Free young' }, kinds: { look: 'Look', reading: 'Temperature', feeding: 'Feeding', mark: 'Mark', brood: 'Brood', fish: 'Fish', tank: 'Tank', photo: 'Photo', absence: 'Absence', rota: 'Turn', batch: 'Batch of young', food: 'Food', culture: 'Hatch set going', count: 'Count', water_test: 'Water test', water_change: 'Water change' } },
};
