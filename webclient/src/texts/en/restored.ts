/** Texts of a server that was set back to a copy of itself, and of what devices brought back to it. */
import { counted } from './frame';

export const restored = {
  title: 'The server was set back',
  to: (when: string) => `It was set back to a copy of ${when}.`, toCopy: 'It was set back to an earlier copy.',
  brought: (n: number) => (n === 0 ? 'Nothing that this device holds was missing there.' : `This device has brought back ${counted(n, 'entry', 'entries')} that it had lost.`),
  others: 'Other devices bring back theirs when they are next connected and signed in.',
  by: (name: string) => `Brought back by ${name} after the server was set back`, somebody: 'somebody',
};
