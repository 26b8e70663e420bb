/** A file for the person to keep, by the browser's own way of saving one. */

/** Save it under the day's name. */
export async function saveFile(file: Promise<Blob>, now: Date): Promise<void> {
  const url = URL.createObjectURL(await file);
  const link = document.createElement('a');
  link.href = url;
  link.download = `holdwatch-${now.toISOString().slice(0, 10)}.json`;
  link.click();
  URL.revokeObjectURL(url);
}
