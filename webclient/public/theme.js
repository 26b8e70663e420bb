// Sets the skin before the first paint; the app writes what is read here: {"skin", "until", "dim",
// "steps": [[milliseconds, skin]]} under "holdwatch-skin".
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
  // Past `until` the lamps have changed since, perhaps more than once: the last step whose time has come holds.
  var now = Date.now();
  var past = typeof kept.until === 'number' && now >= kept.until;
  var steps = past && Array.isArray(kept.steps) ? kept.steps : [];
  var skin = kept.skin;
  steps.forEach(function (step) {
    if (step[0] <= now) skin = step[1];
  });
  if (skin === 'night' || skin === 'day') root.dataset.skin = skin;
  if (kept.dim === 1 || kept.dim === 2) root.dataset.dim = String(kept.dim);
})();
