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
  const LONGEST_sentence = 400;
  const MOST_sentences = 8;
  const VERSION = 2; // of an older one nothing is shown: the next save writes it anew
  // Unit -> decimals and the largest value that can be meant.
  const ALKALINITY = { dKH: [1, 150], 'meq/L': [2, 60], 'mg/L CaCO3': [0, 3000] };
  // The same as in mobile/state/setup_draft.py: what a tap can dial, nothing else.
  const DIALLED = /^\+?[ ()./-]*(?:[0-9][ ()./-]*){2,15}$/;

  const EQUIPMENT = [
    ['limewater', 'Limewater set', 'a day'],
    ['pump', 'Lime pump', 'an hour at full rate'],
    ['container', 'Lime container', 'when full'],
    ['freshWater', 'Fresh-water container that feeds the lime', 'when full'],
  ];
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

  function optionalLitres(value, what) {
    return span([value ?? 0], 1, 0, LARGEST_L, what)[0];
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
    const [low, mid, high] = span(volume, 3, 0.001, LARGEST_L, 'volume');
    return { low, mid, high };
  }

  const ISO_with_zone = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/;

  function moment(value, what) {
    const shown = text(value, 40, what);
    check(ISO_with_zone.test(shown) && Number.isFinite(Date.parse(shown)), what);
    return new Date(shown);
  }

  function sentences(value, what) {
    check(Array.isArray(value) && value.length <= MOST_sentences, what);
    return value.map((one) => text(one, LONGEST_sentence, what));
  }

  function readReading(reading) {
    check(reading && typeof reading === 'object', 'reading');
    return {
      label: text(reading.label, LONGEST_name, 'reading label'),
      value: text(reading.value, LONGEST_name, 'reading'),
      at: moment(reading.at, 'reading time'),
    };
  }

  function readList(list, read, left, what) {
    check(Array.isArray(list) && list.length <= 12, what);
    return list.map((one) => part(() => read(one), left)).filter(Boolean);
  }

  // Rising numbers inside a range: anything else is no figure of ours.
  function span(value, length, low, high, what) {
    check(Array.isArray(value) && value.length === length, what);
    value.forEach((one, place) => {
      check(typeof one === 'number' && one >= low && one <= high, what);
      check(place === 0 || value[place - 1] <= one, `${what} order`);
    });
    return value;
  }

  function readChange(change, most) {
    check(change && typeof change === 'object', 'change');
    check(SHARES.includes(change.percent), 'change share');
    return {
      percent: change.percent,
      pH: span(change.pH, 3, 6, 12, 'pH after a change'),
      alkalinity: span(change.alkalinity, 2, 0, most, 'alkalinity after a change'),
      calcium: span([change.calcium_mg_per_L ?? 0], 1, 0, 5000, 'calcium after a change')[0],
    };
  }

  function readRescue(rescue) {
    if (rescue === null || rescue === undefined) return null;
    check(typeof rescue === 'object', 'rescue');
    const unit = rescue.alkalinity_unit;
    check(typeof unit === 'string' && Object.hasOwn(ALKALINITY, unit), 'alkalinity unit');
    check(Array.isArray(rescue.changes) && rescue.changes.length <= SHARES.length, 'changes');
    return {
      from: text(rescue.from, LONGEST_sentence, 'rescue'),
      unit,
      changes: rescue.changes.map((change) => readChange(change, ALKALINITY[unit][1])),
      said: sentences(rescue.said, 'rescue sentences'),
    };
  }

  function readSystem(system) {
    check(system && typeof system === 'object', 'system');
    const left = [];
    const read = {
      name: part(() => text(system.name, LONGEST_name, 'name'), left, 'Your system'),
      volume: part(() => readVolume(system.net_volume_L), left),
      limewater: part(() => optionalLitres(system.limewater_L_per_day, 'limewater'), left),
      pump: part(() => optionalLitres(system.pump_L_per_h, 'pump'), left),
      container: part(() => optionalLitres(system.lime_container_L, 'container'), left),
      freshWater: part(() => optionalLitres(system.fresh_water_container_L, 'fresh water'), left),
      saltWater: part(() => optionalLitres(system.salt_water_ready_L, 'salt water'), left),
      phones: part(() => readList(system.phones ?? [], readPhone, left, 'phones'), left, []),
      worst: part(() => sentences(system.worst ?? [], 'worst case'), left, []),
      stopSafe: part(() => sentences(system.stop_safe ?? [], 'stop safe'), left, []),
      readings: part(() => readList(system.readings ?? [], readReading, left, 'readings'), left, []),
      rescue: part(() => readRescue(system.rescue), left),
      left,
    };
    check(read.volume || read.phones.length, 'system without volume and phones');
    return read;
  }

  function readFigures(source) {
    check(source.length <= LONGEST_text, 'size');
    const figures = JSON.parse(source);
    check(figures && figures.format === 'sumpside-figures', 'format');
    check(figures.version === VERSION, 'version');
    const savedAt = moment(figures.saved_at, 'date');
    check(Array.isArray(figures.systems), 'systems');
    const left = [];
    const systems = figures.systems
      .slice(0, MOST_systems)
      .map((system) => part(() => readSystem(system), left))
      .filter(Boolean);
    check(systems.length > 0, 'systems');
    return { savedAt, systems, left };
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

  function outcome({ pH, alkalinity, calcium }, unit) {
    const shown = (value) => value.toFixed(ALKALINITY[unit][0]);
    const [low, high] = alkalinity.map(shown);
    const range = low === high ? low : `${low} to ${high}`;
    const also = calcium ? `, calcium ${calcium.toFixed(0)}\u00a0mg/L` : '';
    return `pH about ${pH[1].toFixed(2)} (${pH[0].toFixed(2)} to ${pH[2].toFixed(2)}), alkalinity ${range}\u00a0${unit}${also}`;
  }

  function changes({ low, mid, high }, rescue) {
    const rows = SHARES.map((share) => {
      const of = (value) => amount((value * share) / 100);
      const name = element('th', `${share} %`);
      name.scope = 'row';
      const cell = [element('span', `${of(mid)} (${of(low)} to ${of(high)})`, 'litres')];
      const after = rescue && rescue.changes.find((change) => change.percent === share);
      if (after) cell.push(element('span', outcome(after, rescue.unit), 'outcome'));
      return element('tr', [name, element('td', cell)]);
    });
    const table = element('table');
    const caption = rescue ? `Water to change. ${rescue.from}` : 'Litres to change';
    table.append(element('caption', caption), element('tbody', rows));
    return table;
  }

  function when(date) {
    return date.toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
  }

  function readingList(readings) {
    const items = readings.map(({ label, value, at }) =>
      element('li', `${label} ${value}, ${when(at)}`),
    );
    return [element('p', 'Last readings', 'line'), element('ul', items, 'readings')];
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

  function volumeLine({ low, mid, high }) {
    return `Net water about ${amount(mid)}, between ${amount(low)} and ${amount(high)}.`;
  }

  function systemCard(system) {
    const { name, volume, saltWater, phones, rescue, left } = system;
    const parts = [element('h3', name)];
    if (phones.length) parts.push(phoneList(phones));
    parts.push(...system.worst.map((one, place) => element('p', one, place ? '' : 'line')));
    if (system.readings.length) parts.push(...readingList(system.readings));
    if (volume) parts.push(element('p', volumeLine(volume), 'volume'), changes(volume, rescue));
    if (rescue) parts.push(...rescue.said.map((one) => element('p', one)));
    else if (saltWater) {
      const of = volume ? `, about ${Math.round((100 * saltWater) / volume.mid)} % of the tank` : '';
      parts.push(element('p', `Salt water ready: ${amount(saltWater)}${of}.`));
    }
    parts.push(...system.stopSafe.map((one) => element('p', one)));
    const equipment = EQUIPMENT.filter(([key]) => system[key]).map(
      ([key, before, after]) => `${before}: ${amount(system[key])} ${after}.`,
    );
    if (equipment.length) parts.push(element('p', equipment.join(' ')));
    if (left.length) parts.push(element('p', LEFT_OUT, 'left-out'));
    return element('div', parts);
  }

  function showDate(savedAt, now) {
    const age_days = Math.floor((now - savedAt) / 86400000);
    const date = document.getElementById('own-date');
    date.textContent = `Saved ${when(savedAt)}.`;
    if (age_days < 0) date.textContent += ' That is in the future: check the figures and the clock.';
    else if (age_days > OLD_days) date.textContent += ` OLD: ${age_days} days. Check before you rely on it.`;
    if (age_days < 0 || age_days > OLD_days) date.className = 'date old';
  }

  async function showFigures() {
    const { href, pathname } = new URL('figures.json', document.baseURI);
    const base = pathname.slice(0, -'figures.json'.length);
    const match = (cacheName) => caches.match(href, { cacheName });
    // Under the plain name lies what a version before saved; the address in it is this site's.
    const stored =
      (await match(sumpsideName('sumpside-figures', base))) || (await match('sumpside-figures'));
    if (!stored) return;
    const { savedAt, systems, left } = readFigures(await stored.text());
    const cards = systems.map(systemCard); // all are made before any is shown
    if (left.length) cards.push(element('p', LEFT_OUT, 'left-out'));
    showDate(savedAt, new Date());
    document.getElementById('own-systems').append(...cards);
    document.getElementById('own').hidden = false;
  }

  // Over the running app the card is a frame: what leads away is done by the page around it.
  function inFrame() {
    const record = document.getElementById('record');
    document.getElementById('leave').hidden = true;
    record.hidden = window.parent.document.documentElement.dataset.state !== 'running';
    record.addEventListener('click', (event) => {
      event.preventDefault();
      window.parent.postMessage('sumpside:incident', window.location.origin);
    });
    // A jump inside the card must not stand between the keeper's Back and the app.
    for (const jump of document.querySelectorAll('a[href^="#"]')) {
      jump.addEventListener('click', (event) => {
        event.preventDefault();
        document.querySelector(jump.getAttribute('href')).scrollIntoView();
      });
    }
  }

  if (window.parent !== window) inFrame();
  if (!window.caches) return; // a browser without storage: the general card
  showFigures().catch((error) => console.info(`General card only: ${error}`));
})();
