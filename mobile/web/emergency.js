'use strict';
// Adds the system's own figures, stored by the app at its last save, to the emergency card.
// The card is complete without them: anything missing or odd leaves it as it is.
(() => {
  const OLD_days = 30;
  const LARGEST_L = 100000;
  const SHARES = [10, 25, 50]; // per cent of the net volume
  const LONGEST_text = 200000; // characters

  class Malformed extends Error {}

  function check(condition, what) {
    if (!condition) throw new Malformed(what);
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

  function readPhone(phone) {
    check(phone && typeof phone === 'object', 'phone');
    const number = text(phone.number, 30, 'phone number');
    check(/^\+?[0-9 ()./-]+$/.test(number), 'phone number');
    check(number.replace(/\D/g, '').length >= 2, 'phone number');
    return { label: text(phone.label, 60, 'phone label'), number };
  }

  function readSystem(system) {
    check(system && typeof system === 'object', 'system');
    check(Array.isArray(system.net_volume_L) && system.net_volume_L.length === 3, 'volume');
    const [low, mid, high] = system.net_volume_L.map((value) => litres(value, 'volume'));
    check(low <= mid && mid <= high, 'volume order');
    const phones = system.phones ?? [];
    check(Array.isArray(phones) && phones.length <= 12, 'phones');
    return {
      name: text(system.name, 80, 'name'),
      volume: { low, mid, high },
      limewater: optionalLitres(system.limewater_L_per_day, 'limewater'),
      container: optionalLitres(system.lime_container_L, 'container'),
      saltWater: optionalLitres(system.salt_water_ready_L, 'salt water'),
      phones: phones.map(readPhone),
    };
  }

  function readFigures(source) {
    check(source.length <= LONGEST_text, 'size');
    const figures = JSON.parse(source);
    check(figures && figures.format === 'sumpside-figures' && figures.version === 1, 'format');
    const saved = text(figures.saved_at, 40, 'date');
    const isoWithZone = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/;
    check(isoWithZone.test(saved) && Number.isFinite(Date.parse(saved)), 'date');
    const { systems } = figures;
    check(Array.isArray(systems) && systems.length > 0 && systems.length <= 20, 'systems');
    return { savedAt: new Date(saved), systems: systems.map(readSystem) };
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
    const items = phones.map(({ label, number }) => {
      const link = element('a', [element('span', label), element('span', number)]);
      link.href = `tel:${number.replace(/[^+0-9]/g, '')}`;
      link.target = '_top'; // the card may be shown in a frame, where a call is not allowed
      return element('li', [link]);
    });
    return element('ul', items, 'phones');
  }

  function systemCard({ name, volume, limewater, container, saltWater, phones }) {
    const { low, mid, high } = volume;
    const parts = [element('h3', name)];
    if (phones.length) parts.push(phoneList(phones));
    parts.push(
      element('p', `Net water about ${amount(mid)}, between ${amount(low)} and ${amount(high)}.`, 'volume'),
      changes(volume),
    );
    if (saltWater) {
      const share = Math.round((100 * saltWater) / mid);
      parts.push(element('p', `Salt water ready: ${amount(saltWater)}, about ${share} % of the tank.`));
    }
    if (container) parts.push(element('p', `Lime container: ${amount(container)} when full.`));
    if (limewater) parts.push(element('p', `Limewater set: ${amount(limewater)} a day.`));
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
    const { savedAt, systems } = readFigures(await stored.text());
    const cards = systems.map(systemCard); // all are made before any is shown
    showDate(savedAt, new Date());
    document.getElementById('own-systems').append(...cards);
    document.getElementById('own').hidden = false;
  }

  if (window.parent !== window) document.getElementById('leave').hidden = true;
  if (!window.caches) return; // a browser without storage: the general card
  showFigures().catch((error) => console.info(`General card only: ${error}`));
})();
