/** Texts of how one wants to be reminded; loaded with the panel that says them. */
export const reminders = {
  title: 'How I am reminded',
  offline: 'Shown and changed with a connection.',
  quiet: { label: 'Quiet hours', none: 'None', some: 'Every night', from: 'Quiet from', until: 'Quiet until', clock: (zone: string) => `By the clock of ${zone.replaceAll('_', ' ')}. What comes up in them is told at their end.` },
  wake: { label: 'What cannot wait, such as the night of the catch', yes: 'May wake me', no: 'Waits too' },
  morning: { label: 'A summary of the day in the morning', none: 'None', some: 'Every morning', at: 'Told at', clock: (zone: string) => `By the clock of ${zone.replaceAll('_', ' ')}. On days on which nothing is asked of you, none comes.` },
  mail: { label: 'E-mail', hint: 'Reminders also come here, each with a link to its duty. Leave it empty for none.', none: 'Holdwatch cannot send e-mail here: whoever runs the server has not set it up.' },
  save: 'Save how I am reminded',
  saved: 'Saved.',
  tryOut: 'Try it on this device',
  tried: { sent: 'Sent. It should come within a minute.', gone: 'It cannot reach this device any more. Turn reminders off and on.', refused: 'It was not accepted. Whoever runs the server must look.', later: 'It could not be sent just now. Try again later.' },
};
