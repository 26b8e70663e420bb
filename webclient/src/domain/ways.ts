/** How the young leave their father, and which of the watched species does it in which way. Pure. */

/** The ways, by the names that the server's profiles give them. */
export const IN_THE_MOUTH = 'young stay in the mouth';
export const AT_HATCHING = 'released at hatching, after dark';
export const NEST = 'nest, hatches after dark';
export type Way = typeof IN_THE_MOUTH | typeof AT_HATCHING | typeof NEST;

const WAY_OF = { pterapogon_kauderni: IN_THE_MOUTH, sphaeramia_nematoptera: AT_HATCHING, amphiprion_ocellaris: NEST } as const;

/** The species that can be watched, the usual one first. */
export type Species = keyof typeof WAY_OF;
export const SPECIES = Object.keys(WAY_OF) as Species[];

/** What a look finds while all is well: a full throat, or the clutch. */
export function stillThere(way: Way): { clutch: 'there' } | { mouth: 'full' } {
  return way === NEST ? { clutch: 'there' } : { mouth: 'full' };
}

/** The light of a look after lamps-out, unless another is said: over a nest no lamp is lit. */
export function lightInTheDark(way: Way): 'none' | 'red' {
  return way === NEST ? 'none' : 'red';
}

/** The way of a male: what people say of his species counts at once, also before a forecast has followed it. */
export function wayOf(species: string | null, foretold?: string): Way {
  return WAY_OF[species as Species] ?? foretold ?? IN_THE_MOUTH;
}
