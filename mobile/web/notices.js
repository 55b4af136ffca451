'use strict';
// Recalls: notices.json beside the page names builds that are known to advise wrongly. It is read
// from the network whenever an update is looked for; the last sound answer is kept and holds
// offline. Whatever is not such a file (none, a captive portal's page, another format) changes
// nothing: it recalls no build and lifts no recall.
(() => {
  const KEPT = `sumpside-notices${sumpside.base}`;
  const LONGEST_file = 100000; // characters
  const LONGEST_text = 600;
  const isObject = (value) => Boolean(value) && typeof value === 'object' && !Array.isArray(value);
  const isText = (value) =>
    typeof value === 'string' && Boolean(value.trim()) && value.length <= LONGEST_text;

  function isNotice(notice) {
    if (!isObject(notice) || !isText(notice.kind)) return false;
    if (notice.kind !== 'no-dose') return true; // of a later version: not for this one
    const { builds, text } = notice;
    if (!Array.isArray(builds) || !builds.every(isText)) return false;
    return isObject(text) && isText(text.en) && Object.values(text).every(isText);
  }

  // The notices of a sound file; null for anything else.
  function read(file) {
    if (typeof file !== 'string' || file.length > LONGEST_file) return null;
    let found;
    try {
      found = JSON.parse(file);
    } catch (error) {
      if (error instanceof SyntaxError) return null;
      throw error;
    }
    if (!isObject(found) || found.format !== 'sumpside-notices' || found.version !== 1) return null;
    return Array.isArray(found.notices) && found.notices.every(isNotice) ? found.notices : null;
  }

  function kept() {
    try {
      return read(localStorage.getItem(KEPT)) || [];
    } catch (error) {
      console.info(`Kept notices: ${error}`); // a private window may keep nothing
      return [];
    }
  }

  function keep(file) {
    try {
      localStorage.setItem(KEPT, file);
    } catch (error) {
      console.info(`Notices not kept: ${error}`);
    }
  }

  let standing = kept();
  let asked = 0;
  let heard = 0; // the question whose sound answer stands

  // Why this build gives no dose, in the user's language; '' while nothing recalls it.
  function recalled() {
    const found = standing.find(
      ({ kind, builds }) => kind === 'no-dose' && builds.includes(sumpside.build),
    );
    if (!found) return '';
    const language = navigator.language.split('-')[0];
    const { text } = found;
    return (Object.hasOwn(text, language) ? text[language] : text.en).replace(/\p{Cc}/gu, ' ').trim();
  }

  async function check() {
    asked += 1;
    const own = asked;
    const response = await fetch('notices.json', { cache: 'no-store', redirect: 'error' });
    if (!response.ok) return;
    const file = await response.text();
    const found = read(file);
    if (!found || own < heard) return; // a later question was answered already
    heard = own;
    const before = recalled();
    standing = found;
    keep(file);
    if (recalled() !== before) sumpside.toPython('recalled');
  }

  const look = () => check().catch((error) => console.info(`Notices: ${error}`)); // offline
  sumpside.answers.recalled = recalled;
  sumpside.events.addEventListener('running', look);
  sumpside.events.addEventListener('failed', look);
  window.addEventListener('online', look);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') look();
  });
  look();
})();
