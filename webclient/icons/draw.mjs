// Draws the client's icons, a holding fish with his full jaw, from one list of shapes: `npm run icons`.
import { mkdirSync, writeFileSync } from 'node:fs';
import { crc32, deflateSync } from 'node:zlib';

const RED = [255, 59, 48, 255];
const BLACK = [0, 0, 0, 255];
const CLEAR = [0, 0, 0, 0];
const FINE = 4;

// On a field of 100 by 100, the first at the bottom; the fish looks to the left.
const SHAPES = [
  { ink: RED, points: [[66, 50], [92, 24], [86, 50], [92, 76]] },
  { ink: RED, points: [[34, 36], [44, 10], [50, 34]] },
  { ink: RED, points: [[52, 34], [70, 12], [66, 40]] },
  { ink: RED, points: [[36, 64], [44, 90], [52, 66]] },
  { ink: RED, points: [[54, 66], [70, 86], [66, 58]] },
  { ink: RED, centre: [44, 50], radii: [30, 21] },
  { ink: RED, centre: [24, 59], radii: [13, 11] },
  { ink: BLACK, points: [[38, 27], [43, 27], [41, 73], [36, 73]] },
  { ink: BLACK, points: [[54, 29], [59, 31], [57, 70], [52, 72]] },
  { ink: BLACK, centre: [26, 44], radii: [4.5, 4.5] },
  { ink: BLACK, centre: [18, 58], radii: [2.4, 2.4] },
  { ink: BLACK, centre: [24, 61], radii: [2.4, 2.4] },
  { ink: BLACK, centre: [29, 57], radii: [2.4, 2.4] },
  { ink: BLACK, centre: [22, 54], radii: [2.4, 2.4] },
];

function inPolygon(points, x, y) {
  let inside = false;
  points.forEach(([ax, ay], i) => {
    const [bx, by] = points[(i + 1) % points.length];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  });
  return inside;
}

function covers(shape, x, y) {
  if (shape.points) return inPolygon(shape.points, x, y);
  const [dx, dy] = [(x - shape.centre[0]) / shape.radii[0], (y - shape.centre[1]) / shape.radii[1]];
  return dx * dx + dy * dy <= 1;
}

function inkAt(x, y, ground) {
  const top = SHAPES.findLast((shape) => covers(shape, x, y));
  return top === undefined || top.ink === BLACK ? ground : top.ink;
}

function pixel(column, row, size, share, ground) {
  const sum = [0, 0, 0, 0];
  for (let i = 0; i < FINE * FINE; i += 1) {
    const at = (n, part) => (((n + (part + 0.5) / FINE) / size - 0.5) / share + 0.5) * 100;
    inkAt(at(column, i % FINE), at(row, Math.floor(i / FINE)), ground).forEach((ink, k) => (sum[k] += ink));
  }
  return sum.map((ink) => Math.round(ink / FINE ** 2));
}

function chunk(name, data) {
  const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
  const framed = Buffer.alloc(body.length + 8);
  framed.writeUInt32BE(data.length, 0);
  body.copy(framed, 4);
  framed.writeUInt32BE(crc32(body), body.length + 4);
  return framed;
}

// PNG (ISO/IEC 15948): 8 bits a channel, RGBA, no filter.
function png(size, share, ground) {
  const rows = Array.from({ length: size }, (_, row) => [
    0,
    ...Array.from({ length: size }, (_, column) => pixel(column, row, size, share, ground)).flat(),
  ]);
  const header = Buffer.from([0, 0, 0, 0, 0, 0, 0, 0, 8, 6, 0, 0, 0]);
  header.writeUInt32BE(size, 0);
  header.writeUInt32BE(size, 4);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const image = deflateSync(Buffer.from(rows.flat()), { level: 9 });
  return Buffer.concat([signature, chunk('IHDR', header), chunk('IDAT', image), chunk('IEND', Buffer.alloc(0))]);
}

function svgShape(shape) {
  const fill = `fill="#${Buffer.from(shape.ink.slice(0, 3)).toString('hex')}"`;
  if (shape.points) return `<polygon ${fill} points="${shape.points.join(' ')}"/>`;
  return `<ellipse ${fill} cx="${shape.centre[0]}" cy="${shape.centre[1]}" rx="${shape.radii[0]}" ry="${shape.radii[1]}"/>`;
}

function svg() {
  const shapes = SHAPES.map(svgShape).join('\n  ');
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">\n  <rect width="100" height="100"/>\n  ${shapes}\n</svg>\n`;
}

const folder = new URL('../public/icons/', import.meta.url);
mkdirSync(folder, { recursive: true });
writeFileSync(new URL('fish.svg', folder), svg());
for (const size of [180, 192, 512]) writeFileSync(new URL(`fish-${size}.png`, folder), png(size, 0.9, BLACK));
// A mask may cut all but the middle four fifths.
writeFileSync(new URL('fish-mask-512.png', folder), png(512, 0.68, BLACK));
// A badge is read by its transparency alone.
writeFileSync(new URL('badge-96.png', folder), png(96, 1, CLEAR));
