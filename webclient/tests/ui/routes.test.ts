/** The address that was asked for while nobody was signed in is the one that is opened afterwards. */
import { describe, expect, it } from 'vitest';
import { signInFor, wantedIn } from '../../src/routes';

const after = (wanted: string): string => wantedIn(signInFor(wanted).replace('/sign-in', ''));

describe('a sign-in', () => {
  it('leads on to the page that was asked for, with the duty that a reminder spoke of', () => {
    expect(after('/brood/quill?duty=catch:quill')).toBe('/brood/quill?duty=catch:quill');
    expect(after('/household')).toBe('/household');
  });

  it('leads to Tonight where nothing else was asked for, or nothing of ours', () => {
    expect(signInFor('/')).toBe('/sign-in');
    expect(wantedIn('')).toBe('/');
    expect(after('//elsewhere.example/')).toBe('/');
    expect(after('https://elsewhere.example/')).toBe('/');
    expect(after('/nowhere')).toBe('/');
  });
});
