/** Asking the browser not to clear this phone's records when room runs short. */

/** Ask, where it can be asked and has not been granted; best called after a tap, as some browsers ask the person. */
export async function askToPersist(): Promise<boolean> {
  if (await isPersistent()) return true;
  return (await navigator.storage?.persist?.()) ?? false;
}

/** Whether the browser has promised; on plain http there is nobody to promise. */
export async function isPersistent(): Promise<boolean> {
  return (await navigator.storage?.persisted?.()) ?? false;
}
