// Sets the skin before the first paint; the app writes what is read here: {"skin", "until", "dim"} under "holdwatch-skin".
(function () {
  var root = document.documentElement;
  var kept = null;
  try {
    kept = JSON.parse(localStorage.getItem('holdwatch-skin') || 'null');
  } catch (error) {
    // No storage, or another's text in it: the day skin is a sound start, and the app sets the right one.
    console.warn('skin not read', error);
  }
  if (!kept || typeof kept !== 'object') return;
  // Past `until` the kept skin is no longer known to be right: the lamps have changed since.
  var past = typeof kept.until === 'number' && Date.now() > kept.until;
  var other = kept.skin === 'night' ? 'day' : 'night';
  var skin = past ? other : kept.skin;
  if (skin === 'night' || skin === 'day') root.dataset.skin = skin;
  if (kept.dim === 1 || kept.dim === 2) root.dataset.dim = String(kept.dim);
})();
