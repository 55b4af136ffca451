// The recovery page: looks into this browser's stores, says what is there, offers it as files.
import { exportBytes, gather, rawFiles } from './recovery_records.js';
import { lookUnder } from './recovery_stores.js';
import {
  counted,
  countedKind,
  detailsOf,
  kindName,
  lossesOf,
  placeOf,
  remarksOf,
} from './recovery_words.js';

const SHARED = '/'; // whose names every site had in versions that did not name by the base
const SETTLE_ms = 500; // what looks damaged may be an entry that is just being saved
const $ = (id) => document.getElementById(id);
const base = new URL('.', document.baseURI).pathname;
let given = []; // addresses of files that were offered

function element(tag, content = [], className = '') {
  const made = document.createElement(tag);
  made.className = className;
  made.append(...[content].flat());
  return made;
}

function offer(link, bytes, name, type) {
  const address = URL.createObjectURL(new Blob([bytes], { type }));
  given.push(address);
  Object.assign(link, { href: address, download: name });
  link.onclick = () => {
    $('saved').textContent = `Given to the browser as ${name}. Look for it among your downloads.`;
  };
  return link;
}

const when = (time) => new Date(time).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });

function stamp(time) {
  const local = new Date(time.getTime() - time.getTimezoneOffset() * 60000).toISOString();
  return local.slice(0, 16).replace(/[:T]/g, '-');
}

async function look() {
  const seen = await lookUnder(base);
  let found = gather(seen.stores);
  if (!found.sources.length && base !== SHARED) {
    const old = await lookUnder(SHARED);
    seen.failures.push(...old.failures);
    found = gather(old.stores);
    found.isUnderOldName = found.sources.length > 0;
  }
  return { ...found, failures: seen.failures };
}

const isDamaged = ({ failures, sources }) =>
  failures.length > 0 || sources.some((source) => !source.isLeftOut && lossesOf(source).length > 0);

async function lookSettled() {
  const found = await look();
  if (!isDamaged(found)) return found;
  await new Promise((resolve) => {
    setTimeout(resolve, SETTLE_ms);
  });
  return look();
}

// --- what is said

function stateOf(found) {
  const count = found.records.length + found.conflicts.length + found.unread.length;
  if (count) {
    const entries = counted(count, 'entry was found', 'entries were found');
    return isDamaged(found) ? `${entries}. Not everything could be read.` : `${entries}.`;
  }
  if (found.isErasing) return 'Everything is being erased here, as was asked for.';
  if (found.sources.length) {
    return isDamaged(found)
      ? 'A store of Sumpside is here. No entry in it could be read.'
      : 'A store of Sumpside is here. No entry is in it.';
  }
  return found.failures.length
    ? 'No records could be seen. Not every place could be looked into.'
    : 'No records of Sumpside were found in this browser at this address.';
}

function notesOf(found) {
  const notes = [];
  if (!found.sources.length) {
    notes.push(element('p', `This address: ${window.location.origin}${base}`, 'address'));
    notes.push('Records of another browser, profile or address are not seen from here.');
    notes.push('Nor are those of a private window.');
  }
  if (found.isErasing) {
    notes.push('An erasing is under way. What it erases is neither shown nor saved.');
  }
  if (found.isUnderOldName) {
    notes.push('They lie under the name that older versions used.');
    notes.push('Another Sumpside on the same host may have written them.');
  }
  for (const { where } of found.failures) notes.push(`This place could not be read: ${where}.`);
  return notes.map((note) => (typeof note === 'string' ? element('p', note) : note));
}

function placesOf({ sources }) {
  let isFirst = true;
  return sources.map((source) => {
    const place = placeOf(source);
    if (source.isLeftOut) return `Left out: ${place}. It may hold what was erased.`;
    const more = isFirst ? '' : 'more ';
    isFirst = false;
    return `In ${place}: ${counted(source.added, `${more}entry`, `${more}entries`)}`;
  });
}

function factsOf(found) {
  const { conflicts, unread, newest, kinds, systems } = found;
  const facts = [];
  if (newest) facts.push(['Last entered', [`${when(newest.enteredAt)} (${kindName(newest.kind)})`]]);
  facts.push(['Where', placesOf(found)]);
  if (systems.length) {
    const lines = systems.map(([name, count]) => `${name}: ${counted(count, 'entry', 'entries')}`);
    facts.push([systems.length === 1 ? 'System' : 'Systems', lines]);
  }
  if (kinds.length) {
    facts.push(['Kinds of entries', kinds.map(([kind, count]) => countedKind(kind, count))]);
  }
  const kept = counted(conflicts.length, 'entry', 'entries');
  if (conflicts.length) facts.push(['Same number, other content', [`${kept}: saved as well`]]);
  const odd = counted(unread.length, 'entry', 'entries');
  if (unread.length) facts.push(['Not understood', [`${odd}: saved as they are`]]);
  return facts;
}

function damageParts({ sources }) {
  const damaged = sources
    .filter(({ isLeftOut }) => !isLeftOut)
    .map((source) => [source, [...lossesOf(source), ...remarksOf(source)]])
    .filter(([, said]) => said.length);
  return damaged.map(([source, said]) => {
    const place = placeOf(source);
    const title = element('h3', place[0].toUpperCase() + place.slice(1));
    return element('div', [title, element('ul', said.map((one) => element('li', one)))], 'damage');
  });
}

// --- the page

function fill(list, parts) {
  $(list).replaceChildren(...parts);
  return parts.length > 0;
}

function show(found, now) {
  given.forEach((address) => URL.revokeObjectURL(address));
  given = [];
  $('saved').textContent = '';
  const lines = factsOf(found).flatMap(([name, values]) => [
    element('dt', name),
    ...values.map((value) => element('dd', value)),
  ]);
  fill('facts', lines);
  const count = found.records.length + found.conflicts.length + found.unread.length;
  const name = `sumpside-recovered-${stamp(now)}`;
  if (count) offer($('save'), exportBytes(found, now), `${name}.jsonl`, 'application/x-ndjson');
  $('found').hidden = !count;
  $('damage').hidden = !fill('damage-list', damageParts(found));
  const raw = rawFiles(found).map((file) => {
    const size = counted(Math.ceil(file.bytes.length / 1024), 'kB', 'kB');
    const link = element('a', `Save ${file.name} (${size})`, 'button plain');
    return offer(link, file.bytes, `${name}-${file.name}`, 'application/octet-stream');
  });
  $('raw').hidden = !fill('raw-list', raw);
  fill('notes', notesOf(found));
  const errors = found.failures.map(({ where, error }) => `${where}: ${error}`);
  $('details').textContent = [...found.sources.map(detailsOf), ...errors].join('\n');
  $('technical').hidden = !$('details').textContent;
  $('state').textContent = stateOf(found);
}

function showFailure(error) {
  console.error(error);
  $('state').textContent = 'This page failed. Nothing was changed.';
  $('details').textContent = `${error}\n${error.stack || ''}`;
  $('technical').hidden = false;
}

async function run() {
  $('again').disabled = true;
  $('state').textContent = 'Looking for records…';
  try {
    show(await lookSettled(), new Date());
  } catch (error) {
    showFailure(error);
  } finally {
    $('again').disabled = false;
  }
}

$('again').hidden = false;
$('again').addEventListener('click', run);
run();
