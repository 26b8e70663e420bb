/** Texts on what several people share: one device on which each logs in his own name, and one event that two logged. */
import { counted } from './frame';

const times = (n: number): string => (n === 2 ? 'twice' : `${n} times`);
const together = (names: readonly string[]): string => [names.slice(0, -1).join(', '), names.at(-1)].filter((part) => part).join(' and ');

export const shared = {
  logs: {
    label: 'Logging as', ask: 'Who is logging?', as: (name: string) => `as ${name}`, others: 'Others',
    out: 'signed out', outText: (name: string) => `The server has signed ${name} out on this device. What ${name} logs is kept and goes up once ${name} has signed in here again.`,
  },
  panel: {
    title: 'Who logs on this device', text: 'One tap says who logs, also without a connection. Whoever holds this device can log in any of these names.',
    alone: 'Somebody else may log on this device too, each in their own name.', add: 'Let somebody else sign in here',
    now: 'is logging', choose: (name: string) => `Log as ${name}`, leave: 'Sign out here', leaveOf: (name: string) => `Sign ${name} out on this device`,
    sure: (name: string, waiting: number) => `Sign ${name} out on this device? ${name} then needs the password to log here again.${waiting > 0 ? ` ${counted(waiting, 'entry', 'entries')} of ${name} then stay here until then.` : ''}`,
    waiting: (n: number) => `${counted(n, 'entry waits', 'entries wait')} to go up`, offline: 'Signing out wants a connection.', signIn: 'Sign in again',
    reminders: 'Reminders on this device go to whoever opened it last.',
  },
  twice: {
    byMany: (names: readonly string[]) => `${together(names)} logged this. It counts once.`, byOne: (name: string, n: number) => `${name} logged this ${times(n)}. It counts once.`,
    apart: (n: number) => (n === 2 ? 'These were two' : `These were ${n}`), apartOf: (n: number, when: string) => `${n === 2 ? 'These were two' : `These were ${n}`}: ${when}`,
    done: (n: number) => (n === 2 ? 'Two events' : `${n} events`), own: 'Said to be an event of its own.', join: 'It was one after all', joined: 'One event', typed: 'Typed by two',
  },
  left: (name: string) => `${name} is no longer in the household, so nothing goes up in that name any more.`,
  beside: (name: string) => `${name} stays signed in on this device. Afterwards one tap says which of you logs.`,
};
