/** Texts of changing a password, and of setting a new one where it is forgotten. */
export const password = {
  title: 'Password', change: 'Change the password', current: 'Present password', next: 'New password', go: 'Change', no: 'Cancel',
  others: 'Your other devices are signed out. What was logged on them stays there.', changed: 'Your password is changed.', offline: 'Changed with a connection.',
  recover: {
    title: 'Set a new password', text: (name: string, household: string) => `For ${name}, the owner of ${household}.`, others: 'Every other device of yours is signed out. What was logged on them stays there.',
    go: 'Set it and sign in', looking: 'Reading the address…', noToken: 'This address is not whole. Have a new one printed, on the machine that Holdwatch runs on: holdwatch owner-link',
  },
};
