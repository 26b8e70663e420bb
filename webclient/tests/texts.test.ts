/** The catalogue of texts holds nothing that no page says. */
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { programOf, unusedTexts } from './catalogue';

const FRAME = 'texts/en/frame.ts';

it('has every text said somewhere; one that nothing says is found', () => {
  const frame = readFileSync(new URL(`../src/${FRAME}`, import.meta.url), 'utf8');
  // Its name is that of texts that are said: what counts is whose title it is.
  const planted = frame.replace("loading: 'One moment…',", (as) => `${as} nowhere: { title: 'Said nowhere' },`);
  expect(unusedTexts(programOf({ [FRAME]: planted }))).toEqual([expect.stringMatching(/^texts\/en\/frame\.ts:\d+ title$/)]);
}, 120_000);
