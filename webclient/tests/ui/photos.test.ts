/** Photos as pages have them: whose they are, where their pictures come from, and what was put off until day. */
import { createHash, randomBytes } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { holdingOf } from '../../src/pages/holding';
import { fitted, sha256Of } from '../../src/pages/photodrawing';
import { addPhoto, dropPromised, fileTime, leaveOut, photosOf, pictureOf, promise, promised } from '../../src/pages/photos';
import type { Rec, Store } from '../../src/store';
import type { NewPicture } from '../../src/store/photos';
import { NOW, maleThatHolds, phoneOf } from './phone';

const HOUR_MS = 3_600_000;
const ago = (hours: number): Date => new Date(NOW.getTime() - hours * HOUR_MS);
const bytes = (...values: number[]): ArrayBuffer => Uint8Array.from(values).buffer;
const picture = (seed: number): NewPicture => ({ sha256: `${seed}`.repeat(64), full: bytes(seed, seed, seed), small: bytes(seed), width: 4, height: 3 });
const NAME = 'f'.repeat(64);
let store: Store;
let brood = '';

beforeEach(async () => {
  store = await phoneOf('keeper');
  brood = await maleThatHolds(store);
});
afterEach(async () => {
  vi.unstubAllGlobals();
  await store.close();
});

const hold = async () => holdingOf(store, (await store.get(brood)) as Rec);

describe('the photos of a brood', () => {
  it('are its own and those of his tank while he held, the newest first, and none that was taken away', async () => {
    const tank = (await hold()).tank?.id ?? '';
    await store.edit(brood, { not_before: ago(24 * 30).toISOString() });
    await addPhoto(store, brood, ago(3), picture(1));
    await addPhoto(store, tank, ago(2), picture(2));
    await addPhoto(store, tank, ago(24 * 60), picture(3));
    await addPhoto(store, brood, ago(1), picture(4));
    await (await addPhoto(store, brood, ago(0), picture(5)))();
    expect((await photosOf(store, await hold())).map(({ sha256, isUnsure }) => [sha256[0], isUnsure])).toEqual([['4', false], ['2', true], ['1', false]]);
  });

  it('leave out what a helper took back, whose record stays and says nothing', async () => {
    const other = await phoneOf('helper');
    const his = await maleThatHolds(other);
    const takeBack = await addPhoto(other, his, NOW, picture(1));
    const of = async () => photosOf(other, await holdingOf(other, (await other.get(his)) as Rec));
    expect(await of()).toHaveLength(1);
    await takeBack();
    expect(await of()).toEqual([]);
    expect(await (await other.photos()).pending()).toEqual([]);
    await other.close();
  });
});

describe('a picture', () => {
  function serve(answer: () => Response | Error) {
    const asked: string[] = [];
    vi.stubGlobal('fetch', async (path: string) => {
      asked.push(path);
      const given = answer();
      if (given instanceof Error) throw given;
      return given;
    });
    return asked;
  }
  const jpeg = (...values: number[]) => new Response(bytes(...values), { headers: { 'Content-Type': 'image/jpeg' } });
  const json = (status: number, code: string) => new Response(JSON.stringify({ error: { code, message: 'in words', where: null } }), { status, headers: { 'Content-Type': 'application/json' } });

  it('of a photo taken here comes from the phone', async () => {
    const asked = serve(() => new TypeError('offline'));
    await addPhoto(store, brood, NOW, picture(1));
    expect(await pictureOf(store, picture(1).sha256, 'full')).toEqual({ data: bytes(1, 1, 1), isSmall: false });
    expect(await pictureOf(store, picture(1).sha256, 'small')).toEqual({ data: bytes(1), isSmall: true });
    expect(asked).toEqual([]);
  });

  it('of another phone is fetched once and kept', async () => {
    const asked = serve(() => jpeg(7));
    expect(await pictureOf(store, NAME, 'small')).toEqual({ data: bytes(7), isSmall: true });
    expect(await pictureOf(store, NAME, 'small')).toEqual({ data: bytes(7), isSmall: true });
    expect(asked).toEqual([`/api/v1/photos/${NAME}/thumbnail`]);
  });

  it('is small while the large one cannot be had, and large once it can', async () => {
    serve(() => jpeg(7));
    await pictureOf(store, NAME, 'small');
    serve(() => new TypeError('offline'));
    expect(await pictureOf(store, NAME, 'full')).toEqual({ data: bytes(7), isSmall: true });
    const asked = serve(() => jpeg(7, 7, 7));
    expect(await pictureOf(store, NAME, 'full')).toEqual({ data: bytes(7, 7, 7), isSmall: false });
    expect(asked).toEqual([`/api/v1/photos/${NAME}`]);
  });

  it.each([
    ['no connection', () => new TypeError('failed to fetch'), 'offline'],
    ['the sign-in page of a wireless network', () => new Response('<html>', { headers: { 'Content-Type': 'text/html' } }), 'offline'],
    ['a picture that has not arrived', () => json(404, 'not_found'), 'away'],
    ['nobody is signed in any more', () => json(401, 'signed_out'), 'signedOut'],
    ['a server that is busy', () => json(503, 'busy'), 'offline'],
  ])('is not there, and why is known: %s', async (_name, answer, why) => {
    serve(answer);
    expect(await pictureOf(store, NAME, 'small')).toEqual({ data: null, why });
  });

  it('that the server does not give for another reason is a fault that is told', async () => {
    serve(() => json(421, 'wrong_host'));
    await expect(pictureOf(store, NAME, 'small')).rejects.toMatchObject({ status: 421, message: 'in words' });
  });
});

describe('a photo put off until day', () => {
  it('is promised once, and the promise is kept by the photo or dropped, each to be taken back', async () => {
    await promise(store, brood, ago(9));
    const again = await promise(store, brood, ago(8));
    expect(await promised(store)).toEqual([{ about: brood, at: ago(9).toISOString() }]);
    await again();
    const drop = await dropPromised(store, brood);
    expect(await promised(store)).toEqual([]);
    await drop();
    expect(await promised(store)).toHaveLength(1);
    await addPhoto(store, brood, NOW, picture(1));
    expect(await promised(store)).toEqual([]);
  });

  it('that was promised by mistake is taken back whole', async () => {
    const takeBack = await promise(store, brood, NOW);
    await takeBack();
    expect(await promised(store)).toEqual([]);
  });
});

describe('a photo that the household refused', () => {
  it('is left out with its record', async () => {
    await addPhoto(store, brood, NOW, picture(1));
    const photos = await store.photos();
    await photos.note(picture(1).sha256, { state: 'refused', reason: 'no' });
    const [row] = await photos.refused();
    await leaveOut(store, row as NonNullable<typeof row>);
    expect(await photos.pending()).toEqual([]);
    expect(await store.about(brood, 'photo')).toEqual([]);
  });
});

describe('what is kept of a picture', () => {
  it('is at most 2,048 pixels long and never made larger', () => {
    expect(fitted({ width: 4032, height: 3024 }, 2048)).toEqual({ width: 2048, height: 1536 });
    expect(fitted({ width: 3024, height: 4032 }, 2048)).toEqual({ width: 1536, height: 2048 });
    expect(fitted({ width: 640, height: 480 }, 2048)).toEqual({ width: 640, height: 480 });
    expect(fitted({ width: 9000, height: 2 }, 320)).toEqual({ width: 320, height: 1 });
  });

  it('is named by its SHA-256, also where the browser works none out', async () => {
    // FIPS 180-4's example, as NIST's "Secure Hashing" page of examples has it.
    const abc = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';
    const much = Uint8Array.from(randomBytes(300_000)).buffer;
    const right = createHash('sha256').update(new Uint8Array(much)).digest('hex');
    const all = async () => [await sha256Of(new TextEncoder().encode('abc').buffer as ArrayBuffer), await sha256Of(much)];
    expect(await all()).toEqual([abc, right]);
    vi.stubGlobal('crypto', {});
    expect(await all()).toEqual([abc, right]);
  });

  it('is dated by its file, as far as that can be believed', () => {
    expect(fileTime({ lastModified: ago(5).getTime() }, NOW)).toEqual(ago(5));
    expect(fileTime({ lastModified: NOW.getTime() + HOUR_MS }, NOW)).toEqual(NOW);
    expect(fileTime({ lastModified: 0 }, NOW)).toEqual(NOW);
  });
});
