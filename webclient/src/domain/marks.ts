/** What a person says of a duty. */
export type DutyMark = { readonly what: 'taken' | 'done' | 'handed_back' } | { readonly what: 'later'; readonly minutes: number } | { readonly what: 'skipped'; readonly note: string };
