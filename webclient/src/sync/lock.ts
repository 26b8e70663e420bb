/** Held by the one who agrees with the server: never two at once, be it tabs or the worker. */
export const LOCK = 'holdwatch-sync';
