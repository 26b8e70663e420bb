/** Texts of the frame round every page: destinations, skins, saving, sync in plain words. */
const plural = new Intl.PluralRules('en');

/** "1 look", "3 looks": the word that fits the number. */
export function counted(n: number, one: string, many: string): string {
  return `${n} ${plural.select(n) === 'one' ? one : many}`;
}

export const frame = {
  name: 'Holdwatch',
  toContent: 'To the content',
  destinations: 'Destinations',
  tonight: 'Tonight',
  broods: 'Broods',
  household: 'Household',
  look: 'Look',
  attention: 'Needs attention',
  back: 'Back',
  close: 'Close',
  cancel: 'Cancel',
  save: 'Save',
  understood: 'Understood',
  loading: 'One moment…',
  skinToNight: 'Red light',
  skinToDay: 'Day light',
  dimmer: 'Dimmer',
  dimmerStep: (step: number) => `Dimmer, step ${step + 1} of 3`,
  savedHere: 'Saved on this phone',
  undo: 'Undo',
  undone: 'Taken back',
  notFound: { title: 'Nothing here', text: 'There is no page at this address.', home: 'To Tonight' },
  trouble: {
    quota: 'This phone has no room left, so this was not saved. Free some space (photos, other apps), then tap again. What was saved before is still here.',
    lost: 'The phone closed its storage for a moment, so this was not saved. Nothing else is lost: tap again.',
    newer: 'A newer Holdwatch has changed the storage. Reload this page, then tap again; what was saved is still here.',
    nobody: 'Nobody has signed in on this phone yet, so this was not saved. Sign in once, then it works without a connection too.',
    other_household: 'This phone holds the records of another household. Export and clear them first.',
    unknown: 'This entry is not on this phone any more, so nothing was changed.',
    other: 'This was not saved. What was saved before is still here; tap again, and if it stays so, export from Household.',
  },
  sync: {
    title: 'This phone and the household',
    agreed: (when: string) => `Up to date with the household, ${when}.`,
    agreedNever: 'Not yet up to date with the household.',
    working: 'Bringing up to date…',
    offline: 'No connection. Looks are kept here and go up by themselves.',
    signedOut: 'Signed out on this phone. Looks are still kept; they go up after you sign in again.',
    trouble: (what: string) => `Not up to date: ${what}. It is tried again by itself.`,
    waiting: (n: number) => (n === 0 ? 'Nothing is waiting to go up.' : `${counted(n, 'entry waits', 'entries wait')} to go up.`),
    clock: (minutes: number) => `This phone’s clock is ${counted(minutes, 'minute', 'minutes')} off. Times are put right before they go up.`,
    short: { agreed: 'Up to date', working: 'Updating…', offline: 'Offline', signed_out: 'Signed out', trouble: 'Not up to date' },
    now: 'Bring up to date now',
    signIn: 'Sign in',
  },
  update: { text: 'A newer Holdwatch is ready.', now: 'Use it now', later: 'Later' },
  when: {
    now: 'just now',
    minutes: (n: number) => `${n} min ago`,
    hours: (n: number) => `${n} h ago`,
    days: (n: number) => (n === 1 ? 'a day ago' : `${n} days ago`),
    today: 'today', tonight: 'tonight', tomorrow: 'tomorrow', yesterday: 'yesterday', lastNight: 'last night',
    tomorrowNight: 'tomorrow night',
    at: (day: string, time: string) => `${day}, ${time}`,
    between: (from: string, to: string) => `${from} to ${to}`,
    giveOrTake: (span: string) => `give or take ${span}`,
    nights: (n: number) => (n === 0 ? 'tonight' : n === 1 ? 'tomorrow night' : `in ${n} nights`),
  },
};
