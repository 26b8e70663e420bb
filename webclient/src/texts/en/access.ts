/** Texts of setting up, joining, signing in, and the first run. */
import { AT_HATCHING, IN_THE_MOUTH, NEST } from '../../domain/ways';

/** What is asked of a male that holds in his mouth, and of one that guards a nest. */
const ofTheMouth = {
  who: 'A holding male has a full throat, a firm jaw, and will not eat.', released: 'Has he let young go before?',
  holds: 'Does he hold now?', yes: 'He holds', no: 'Not now', firstFull: 'First seen with a full throat', lastNot: 'Last surely not holding',
};
const ofTheNest: typeof ofTheMouth = {
  who: 'The male is the smaller one of the pair, the one that guards the nest: he fans the eggs and picks over them.', released: 'Has a clutch of his hatched before?',
  holds: 'Does he guard a clutch now?', yes: 'He guards one', no: 'Not now', firstFull: 'Clutch first seen', lastNot: 'Last surely no clutch',
};

export const access = {
  signIn: { title: 'Sign in', text: 'What was logged on this device is kept and goes up once you are in.', first: 'New here? Open the link that the owner sent you. No household yet? Open the one-time address that the server printed when it started.', login: 'Sign-in name', password: 'Password', go: 'Sign in', going: 'Signing in…' },
  setup: {
    title: 'Set up the household', step: (n: number, of: number) => `${n} of ${of}`,
    text: 'You become its owner. Others join by a link that you send them.', household: 'A name for the household', name: 'Your name', login: 'Sign-in name', password: 'Password', passwordHint: 'At least ten characters; a few words in a row do well.',
    go: 'Set up', noCode: 'This address has lost its code. Open the one-time address that the server printed when it started; a new start prints a new one.',
  },
  join: {
    title: (household: string) => `Join ${household}?`, plain: 'Join a household', text: (name: string, role: string) => `You are invited as ${name}, ${role}.`, expires: (when: string) => `This link works once, until ${when}.`,
    go: (household: string) => `Join ${household}`, login: 'Choose a sign-in name', password: 'Choose a password', no: 'That is not me', noToken: 'This link is not whole. Ask for it again.', looking: 'Reading the invitation…',
  },
  roles: { owner: 'owner', keeper: 'keeper', helper: 'helper' },
  start: {
    tankTitle: 'A tank', tankText: 'Its lamp times tell Holdwatch when to turn red, and the forecast which night is which.', tankName: 'Name of the tank', tankHint: 'Kitchen reef',
    out: 'Lamps go out', on: 'Lamps come on', zone: 'Time zone', setPoint: 'Water is kept at', company: 'Who lives in it', alone: 'He and his mate alone', others: 'Other fish as well', volume: { L: 'Volume, litres', gal: 'Volume, US gallons' }, volumeHint: 'May be left empty.', volumeWrong: 'A number such as 240', mayNotTank: 'A keeper or the owner adds a tank.',
    saveTank: 'Save the tank', tankSaved: (name: string) => `${name} saved`,
    maleTitle: 'A male to watch', maleWhich: 'Which male', maleNew: 'Another male', noneFree: 'Every male of the house is watched already. A keeper can add another.', maleName: 'What you call him', maleHint: 'Bruno', spot: 'Where he is found', spotHint: 'left, under the overhang', tank: 'In which tank',
    species: 'Which fish',
    names: { pterapogon_kauderni: 'Banggai cardinalfish', sphaeramia_nematoptera: 'Pajama cardinalfish', amphiprion_ocellaris: 'Common clownfish' },
    scientific: { pterapogon_kauderni: 'Pterapogon kauderni', sphaeramia_nematoptera: 'Sphaeramia nematoptera', amphiprion_ocellaris: 'Amphiprion ocellaris' },
    asked: { [IN_THE_MOUTH]: ofTheMouth, [AT_HATCHING]: ofTheMouth, [NEST]: ofTheNest },
    releasedYes: 'Yes', releasedNo: 'No, or not known',
    unknown: 'not known', daysAgo: (n: number) => (n === 0 ? 'today' : n === 1 ? 'yesterday' : `${n} days ago`), earlier: 'One day earlier', later: 'One day later', earlierShort: 'Earlier', laterShort: 'Later',
    saveMale: 'Save', maleSaved: (name: string, holds: boolean) => (holds ? `The watch over ${name} begins` : `${name} saved`), notNow: 'Cancel',
  },
  trouble: { marked: 'Something is not right yet: see the marked fields.', offline: 'No connection. Nothing was changed; try again when there is one.', otherHousehold: 'This device still holds the records of another household. Export them in Household, then clear this device, and sign in again.' },
  insecure: 'This address is plain http. Logging works, but this device cannot keep the app for use without a connection, nor be reminded. A secure address (https) adds both: put a reverse proxy with a certificate in front of Holdwatch, or open it by a private mesh.',
};
