/** From a camera's frame or a chosen file to what is kept: small enough, without anything but its pixels, and named by its bytes. */
import type { NewPicture } from '../store/photos';

const LONGEST_PX = { full: 2048, small: 320 } as const;
const QUALITY = { full: 0.85, small: 0.78 } as const;
const TYPE = 'image/jpeg';
const PREVIEW_PX = 640;

/** What can be drawn, with its size. */
export interface Source {
  readonly image: CanvasImageSource;
  readonly width: number;
  readonly height: number;
}

/** The size of a picture that is at most so long; it is never made larger. */
export function fitted({ width, height }: { width: number; height: number }, longest: number): { width: number; height: number } {
  const scale = Math.min(1, longest / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
}

/** What a camera shows at this moment. */
export function frameOf(video: HTMLVideoElement): Source {
  return { image: video, width: video.videoWidth, height: video.videoHeight };
}

/** Draw what a camera shows, in shades of `ink` where it must not be in colour. */
export function preview(canvas: HTMLCanvasElement, source: Source, ink: string | null): void {
  const { width, height } = fitted(source, PREVIEW_PX);
  if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
  const pen = penOf(canvas);
  pen.globalCompositeOperation = 'source-over';
  pen.drawImage(source.image, 0, 0, width, height);
  if (ink === null) return;
  // Grey first: a green leaf must not stay green, and red alone would lose the blue of an evening.
  for (const [how, colour] of [['saturation', '#808080'], ['multiply', ink]] as const) {
    pen.globalCompositeOperation = how;
    pen.fillStyle = colour;
    pen.fillRect(0, 0, width, height);
  }
}

/** The picture as it is kept, in its true colours. */
export async function drawn(source: Source): Promise<NewPicture> {
  const { width, height } = fitted(source, LONGEST_PX.full);
  const [full, small] = await Promise.all([jpegOf(source, 'full'), jpegOf(source, 'small')]);
  return { sha256: await sha256Of(full), full, small, width, height };
}

/** The picture in a file, turned the way it was held; null where the browser reads none in it. */
export async function opened(file: Blob): Promise<(Source & { close(): void }) | null> {
  try {
    const image = await createImageBitmap(file);
    return { image, width: image.width, height: image.height, close: () => image.close() };
  } catch (error) {
    if (error instanceof DOMException) return null;
    throw error;
  }
}

/** The SHA-256 of bytes in hexadecimal digits; on plain http, where the browser has none for us, by a library. */
export async function sha256Of(data: ArrayBuffer): Promise<string> {
  const subtle = crypto.subtle as SubtleCrypto | undefined;
  const digest = subtle ? new Uint8Array(await subtle.digest('SHA-256', data)) : (await import('@noble/hashes/sha2.js')).sha256(new Uint8Array(data));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

function jpegOf(source: Source, size: keyof typeof LONGEST_PX): Promise<ArrayBuffer> {
  const canvas = Object.assign(document.createElement('canvas'), fitted(source, LONGEST_PX[size]));
  const pen = penOf(canvas);
  pen.imageSmoothingQuality = 'high';
  pen.drawImage(source.image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) => {
    const done = (blob: Blob | null) => (blob ? resolve(blob.arrayBuffer()) : reject(new Error('the browser wrote no picture')));
    canvas.toBlob(done, TYPE, QUALITY[size]);
  });
}

function penOf(canvas: HTMLCanvasElement): CanvasRenderingContext2D {
  const pen = canvas.getContext('2d', { alpha: false });
  if (pen === null) throw new Error('the browser gave no canvas');
  return pen;
}
