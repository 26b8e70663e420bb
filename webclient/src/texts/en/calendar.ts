/** Texts of one's duties in the calendar of a phone or computer; loaded with the panel that says them. */
export const calendar = {
  title: 'Calendar',
  text: 'Your duties in the calendar of your phone or computer, which rings half an hour before. It fetches them from an address that is yours alone.',
  offline: 'The address can be got with a connection.',
  none: 'You have no address yet.',
  since: (when: string, names: boolean) => `You got the address ${when}. It ${names ? 'names male and tank' : 'names no fish'}.`,
  shows: (hasOne: boolean) => (hasOne ? 'A new address shows' : 'The address shows'),
  plain: 'No names',
  named: 'Male and tank',
  get: 'Get the address',
  renew: 'New address',
  renewText: 'With a new address the one before stops at once.',
  end: 'End it',
  sure: 'End it? Calendars with this address get nothing more.',
  once: 'Add this address to your calendar as a subscription. It is shown this once. Whoever has it can read your duties.',
  copy: 'Copy',
  copied: 'Copied',
};
