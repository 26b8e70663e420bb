/** Texts of Household: tanks, fish, people, phones, sync state, and what needs attention. */
import { counted } from './frame';

export const household = {
  title: 'Household',
  tanks: { title: 'Tanks', none: 'No tank yet.', add: 'Add a tank', edit: 'Change', editOf: (name: string) => `Change ${name}`, lamps: 'Lamps', lampsWords: (on: string, out: string) => `on ${on}, out ${out}`, zone: 'Zone', water: 'Water', company: 'Company', alone: 'he and his mate alone', others: 'other fish', litres: (n: number) => `${n} L` },
  fish: { title: 'Males', none: 'No male yet.', add: 'A male holds', holds: 'holds now', rests: 'does not hold', released: 'has let young go before', story: 'Story' },
  people: { title: 'People', you: 'you', gone: 'left', invite: 'Invite', name: 'Their name', role: 'Role', helper: 'Helper: logs looks and does duties', keeper: 'Keeper: may change all of it', make: 'Make a link', link: 'Send this link to them. It works once, for 48 hours.', copy: 'Copy', copied: 'Copied', share: 'Send…', remove: 'Remove', removeOf: (name: string) => `Remove ${name}`, sure: (name: string) => `Remove ${name}? What they logged stays.`, offline: 'People can be invited with a connection.' },
  phones: { title: 'Phones', this: 'this phone', seen: (when: string) => `seen ${when}`, remove: 'Sign it out', offline: 'Shown with a connection.', signOut: 'Sign out on this phone', signOutText: 'What is logged stays on this phone.' },
  remind: { title: 'Reminders on this phone', on: 'This phone is told when something is due.', off: 'This phone is not told yet.', turnOn: 'Tell me on this phone', turnOff: 'Tell me no more', denied: 'The browser does not allow it. Allow notifications for this address in its settings.', absent: 'This browser cannot be told; on an iPhone, first add Holdwatch to the home screen.' },
  sync: { title: 'This phone', export: 'Export what has not gone up', exportText: 'A file with every entry that so far is only on this phone.',
    leave: 'Another household on this phone', leaveText: 'Then this household’s records must leave it first. Export them if anything has not gone up.', exportAll: 'Export all', clear: 'Clear this phone',
    sure: (n: number) => (n === 0 ? 'Clear this phone? All of it is with the household.' : `Clear this phone? ${counted(n, 'entry is', 'entries are')} only here and would be lost.`) },
  attention: { title: 'Needs attention', none: 'Nothing needs attention.', text: 'These entries were not taken by the household. They are kept here. Mend what is wrong and send it again, or export it.', count: (n: number) => counted(n, 'entry was not taken', 'entries were not taken'), open: 'See them', why: 'Why', again: 'Send it again', sent: 'Sent again', export: 'Export', drop: 'Leave it out', kinds: { look: 'Look', reading: 'Temperature', feeding: 'Feeding', mark: 'Mark', brood: 'Brood', fish: 'Fish', tank: 'Tank' } },
  trouble: { offline: 'No connection. Nothing was changed; try again when there is one.', unknown: 'That did not work. Nothing was changed; try again.' },
};
