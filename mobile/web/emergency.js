'use strict';
// Adds the system's own figures, stored by the app at its last save, to the emergency card.
// The card is complete without them: what is missing or odd among them is left out.
(() => {
  const OLD_days = 30;
  // What engine/records.py allows, the net volume with its largest error of one half.
  const LARGEST_L = 300000;
  const LONGEST_name = 60;
  const LONGEST_phone = 40;
  const MOST_systems = 20;
  const SHARES = [10, 25, 50]; // per cent of the net volume
  const LONGEST_text = 200000; // characters
  // The same as in mobile/state/setup_draft.py: what a tap can dial, nothing else.
  const DIALLED = /^\+?[ ()./-]*(?:[0-9][ ()./-]*){2,15}$/;

  const LEFT_OUT = 'Something saved here could not be read and is left out.';

  class Malformed extends Error {}

  function check(condition, what) {
    if (!condition) throw new Malformed(what);
  }

  // One odd part must not take the rest of the card away: it is left out, and that is said.
  function part(read, left, instead = null) {
    try {
      return read();
    } catch (error) {
      console.info(`Left out: ${error}`);
      left.push(String(error));
      return instead;
    }
  }

  function text(value, longest, what) {
    check(typeof value === 'string', what);
    const clean = value.replace(/[\p{Cc}\p{Cf}]/gu, ' ').trim();
    check(clean.length > 0 && clean.length <= longest, what);
    return clean;
  }

  function litres(value, what) {
    check(typeof value === 'number' && value > 0 && value <= LARGEST_L, what);
    return value;
  }

  function optionalLitres(value, what) {
    if (value === null || value === undefined || value === 0) return null;
    return litres(value, what);
  }

  // What cannot be dialled ("112 or 999", "ext. 4") is still shown, as words to read.
  function readPhone(phone) {
    check(phone && typeof phone === 'object', 'phone');
    const number = text(phone.number, LONGEST_phone, 'phone number');
    check(number.replace(/\D/g, '').length >= 2, 'phone number');
    const label = text(phone.label, LONGEST_name, 'phone label');
    return { label, number, dialled: DIALLED.test(number) };
  }

  function readVolume(volume) {
    check(Array.isArray(volume) && volume.length === 3, 'volume');
    const [low, mid, high] = volume.map((value) => litres(value, 'volume'));
    check(low <= mid && mid <= high, 'volume order');
    return { low, mid, high };
  }

  function readPhones(phones, left) {
    check(Array.isArray(phones) && phones.length <= 12, 'phones');
    return phones.map((phone) => part(() => readPhone(phone), left)).filter(Boolean);
  }

  function readSystem(system) {
    check(system && typeof system === 'object', 'system');
    const left = [];
    const read = {
      name: part(() => text(system.name, LONGEST_name, 'name'), left, 'Your system'),
      volume: part(() => readVolume(system.net_volume_L), left),
      limewater: part(() => optionalLitres(system.limewater_L_per_day, 'limewater'), left),
      container: part(() => optionalLitres(system.lime_container_L, 'container'), left),
      saltWater: part(() => optionalLitres(system.salt_water_ready_L, 'salt water'), left),
      phones: part(() => readPhones(system.phones ?? [], left), left, []),
      left,
    };
    check(read.volume || read.phones.length, 'system without volume and phones');
    return read;
  }

  function readFigures(source) {
    check(source.length <= LONGEST_text, 'size');
    const figures = JSON.parse(source);
    check(figures && figures.format === 'sumpside-figures' && figures.version === 1, 'format');
    const saved = text(figures.saved_at, 40, 'date');
    const isoWithZone = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/;
    check(isoWithZone.test(saved) && Number.isFinite(Date.parse(saved)), 'date');
    check(Array.isArray(figures.systems), 'systems');
    const left = [];
    const systems = figures.systems
      .slice(0, MOST_systems)
      .map((system) => part(() => readSystem(system), left))
      .filter(Boolean);
    check(systems.length > 0, 'systems');
    return { savedAt: new Date(saved), systems, left };
  }

  // Three significant digits, so that a litre shown is a litre meant.
  function amount(value_L) {
    const rounded = Number(value_L.toPrecision(value_L < 100 ? 2 : 3));
    return `${rounded.toLocaleString(undefined, { maximumFractionDigits: 1 })}\u00a0L`;
  }

  function element(tag, content, className) {
    const made = document.createElement(tag);
    if (typeof content === 'string') made.textContent = content;
    else if (content) made.append(...content);
    if (className) made.className = className;
    return made;
  }

  function changes({ low, mid, high }) {
    const rows = SHARES.map((share) => {
      const of = (value) => amount((value * share) / 100);
      const name = element('th', `${share} %`);
      name.scope = 'row';
      return element('tr', [name, element('td', `${of(mid)} (${of(low)} to ${of(high)})`)]);
    });
    const table = element('table');
    table.append(element('caption', 'Litres to change'), element('tbody', rows));
    return table;
  }

  function phoneList(phones) {
    const items = phones.map(({ label, number, dialled }) => {
      if (!dialled) return element('li', `${label}: ${number}`);
      const link = element('a', [element('span', label), element('span', number)]);
      link.href = `tel:${number.replace(/[^+0-9]/g, '')}`;
      link.target = '_top'; // the card may be shown in a frame, where a call is not allowed
      return element('li', [link]);
    });
    return element('ul', items, 'phones');
  }

  function volumeParts(volume) {
    const { low, mid, high } = volume;
    return [
      element('p', `Net water about ${amount(mid)}, between ${amount(low)} and ${amount(high)}.`, 'volume'),
      changes(volume),
    ];
  }

  function systemCard({ name, volume, limewater, container, saltWater, phones, left }) {
    const parts = [element('h3', name)];
    if (phones.length) parts.push(phoneList(phones));
    if (volume) parts.push(...volumeParts(volume));
    if (saltWater) {
      const share = volume && Math.round((100 * saltWater) / volume.mid);
      const of = share ? `, about ${share} % of the tank` : '';
      parts.push(element('p', `Salt water ready: ${amount(saltWater)}${of}.`));
    }
    if (container) parts.push(element('p', `Lime container: ${amount(container)} when full.`));
    if (limewater) parts.push(element('p', `Limewater set: ${amount(limewater)} a day.`));
    if (left.length) parts.push(element('p', LEFT_OUT, 'left-out'));
    return element('div', parts);
  }

  function showDate(savedAt, now) {
    const age_days = Math.floor((now - savedAt) / 86400000);
    const when = savedAt.toLocaleString(undefined, { dateStyle: 'long', timeStyle: 'short' });
    const date = document.getElementById('own-date');
    date.textContent = `Saved ${when}.`;
    if (age_days < 0) date.textContent += ' That is in the future: check the figures and the clock.';
    else if (age_days > OLD_days) date.textContent += ` OLD: ${age_days} days. Check before you rely on it.`;
    if (age_days < 0 || age_days > OLD_days) date.className = 'date old';
  }

  async function showFigures() {
    const stored = await caches.match(new URL('figures.json', document.baseURI).href, {
      cacheName: 'sumpside-figures',
    });
    if (!stored) return;
    const { savedAt, systems, left } = readFigures(await stored.text());
    const cards = systems.map(systemCard); // all are made before any is shown
    if (left.length) cards.push(element('p', LEFT_OUT, 'left-out'));
    showDate(savedAt, new Date());
    document.getElementById('own-systems').append(...cards);
    document.getElementById('own').hidden = false;
  }

  if (window.parent !== window) document.getElementById('leave').hidden = true;
  if (!window.caches) return; // a browser without storage: the general card
  showFigures().catch((error) => console.info(`General card only: ${error}`));
})();
