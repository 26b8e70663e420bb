/** Texts of photos: taking one, showing it, and how far they have gone up. */
import { counted } from './frame';

const megabytes = (bytes: number): string => (bytes < 950_000 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`);

export const photos = {
  title: 'Photos', one: 'Photo', none: 'No photo yet.', add: 'Add a photo',
  of: (name: string) => `Photo of ${name}`, in: (tank: string) => `Photo in ${tank}`, unsure: 'One of them',
  camera: {
    start: 'Start the camera', asks: 'The browser asks first, in white. Turn the phone away from the tank, or take the photo later.', starting: 'One moment…',
    take: 'Take the photo', sees: 'What the camera sees', lamp: 'The lamp of the camera stays off.',
    trouble: {
      denied: 'The browser does not let Holdwatch use the camera. Allow it in the settings of this address.',
      none: 'This device has no camera that can be used here.',
      busy: 'The camera is in use by another app. Close that, then start again.',
      insecure: 'On this address the browser gives no page the camera. A secure address (https) would.',
    },
  },
  file: { choose: 'Choose a picture', wrong: 'This file cannot be read as a picture. Choose a JPEG, PNG or WebP file.', dated: (when: string) => `The file is of ${when}.` },
  later: { promise: 'Photo later', text: 'Tonight reminds you in day light.', said: (name: string) => `${name}: photo later`, title: 'A photo is to be taken', of: (name: string, when: string) => `${name}, promised ${when}`, take: 'Take it now', drop: 'Not needed', dropped: 'Not needed any more' },
  list: { waiting: 'Not gone up yet', open: (when: string) => `Photo, ${when}` },
  absent: { signedOut: 'It comes when you have signed in again.', offline: 'It comes with the next connection.', away: 'Not arrived yet. It may still be on the device that took it.', small: 'This is the small picture. The large one comes with a connection.' },
  view: { missing: { title: 'This photo is not on this device', text: 'It may come with the next connection.' }, taken: 'When it was taken', by: (name: string) => `by ${name}`, away: 'Take it away', awaySaid: 'Photo taken away', isHim: (name: string) => `It is ${name}`, file: 'Save as a file', corrected: 'Photo corrected', back: 'To the brood' },
  sync: {
    waiting: (n: number, had: number, all: number) => `${counted(n, 'photo waits', 'photos wait')} to go up: ${megabytes(had)} of ${megabytes(all)} are there.`,
    reason: (words: string) => `The household’s server says: ${words}`,
    room: (left: number) => `Room for about ${megabytes(left)} of photos is left on the server.`,
    save: (n: number) => (n === 1 ? 'Save the photo as a file' : 'Save the photos as files'),
    sure: (n: number) => `${counted(n, 'photo is', 'photos are')} only here, too.`,
  },
  refused: { title: 'Photo', again: 'Send it again', sent: 'Sent again', drop: 'Leave it out', dropped: 'Left out' },
};
