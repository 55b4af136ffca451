'use strict';
// What is missing on this device: named while the app starts or when it failed, and put back by
// the service worker when asked.
(() => {
  const $ = (id) => document.getElementById(id);
  const LOOK_ms = 10000; // a start that is not done by then may be waiting for a missing file
  const AGAIN_ms = 2000;
  const MOST_named = 4;
  const PARTS = [
    [/^app\.zip$/, 'the program'],
    [/^(?:pyodide\/|python)/, 'Python'],
    [/^(?:canvaskit\/|main\.dart|flutter)/, 'the drawing of the screen'],
    [/^assets\/.*font/i, 'letters'],
    [/^emergency/, 'the emergency card'],
  ];
  const WHY = {
    unreachable:
      'The site could not be reached. Connect this device to the network. ' +
      'Does the Wi-Fi ask you to sign in? Do that first. Then press Repair.',
    silent:
      'The network takes the question and does not answer. Try another network, then press Repair.',
    other:
      'What answers is not Sumpside’s file. Does the Wi-Fi ask you to sign in? Do that first. ' +
      'Then press Repair.',
    full: 'The files came, and this device could not keep them. Free some space, then press Repair.',
  };
  const workers = navigator.serviceWorker;
  let repairing = false;

  // The worker that answers this page or, after a forced reload, the one that would.
  async function worker() {
    if (!workers || workers.controller) return workers && workers.controller;
    const registration = await workers.getRegistration();
    return registration && registration.active;
  }

  // Asks the worker; without one there is no answer.
  async function ask(kind, key, onProgress = () => {}) {
    const asked = await worker();
    if (!asked) return null;
    return new Promise((resolve) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = ({ data }) => {
        if (key in data) resolve(data[key]);
        else onProgress(data);
      };
      asked.postMessage({ kind, build: sumpside.build }, [port2]);
    });
  }

  function listed(names) {
    const sorted = [...names].sort((one, other) => sumpside.needs(other) - sumpside.needs(one));
    const shown = sorted.slice(0, MOST_named).map((name) => {
      const [, part] = PARTS.find(([pattern]) => pattern.test(name)) || [];
      return part ? `${part} (${name})` : name;
    });
    if (names.length > MOST_named) shown.push(`${names.length - MOST_named} more`);
    return shown.join(', ');
  }

  function show(id, text) {
    $(id).hidden = !text;
    $(id).textContent = text;
  }

  async function look() {
    if (document.documentElement.dataset.state !== 'starting') return;
    const { names, isComing } = (await ask('missing', 'found')) || { names: [] };
    const missing = names.filter(sumpside.needs);
    if (missing.length && !isComing) {
      sumpside.fail(`${missing.join(', ')}: missing`);
      return;
    }
    show('coming', missing.length ? `Missing here, being loaded now: ${listed(missing)}.` : '');
    setTimeout(look, AGAIN_ms);
  }

  async function onFailure() {
    const { names } = (await ask('missing', 'found')) || { names: [] };
    if (repairing || !names.length) return;
    show('absent', `Missing on this device: ${listed(names)}.`);
    $('repair').hidden = false;
    $('failure-advice').textContent = navigator.onLine
      ? 'Press Repair. It loads what is missing, and changes nothing else.'
      : 'This device has no network now. Connect it, then press Repair.';
  }

  async function outcome() {
    const left = await ask('repair', 'left', ({ done, of }) => {
      show('repair-told', `Loading what is missing: ${done} of ${of} files tried.`);
    });
    if (!left.length) return [true, 'Repaired: no file is missing any more. Press Try again.'];
    // Another content: perhaps the site has a newer version, which is then loaded as a whole.
    if (left.some(({ why }) => why === 'other') && (await sumpside.findUpdate())) {
      return [true, 'A newer version was loaded. Press Try again.'];
    }
    const missing = listed(left.map(({ name }) => name));
    show('absent', `Missing on this device: ${missing}.`);
    return [false, `Not repaired. ${WHY[left[0].why] || WHY.unreachable}`];
  }

  async function repair() {
    if (repairing) return;
    repairing = true;
    $('repair').disabled = true;
    show('repair-told', 'Loading what is missing…');
    const [isWhole, text] = await outcome();
    show('repair-told', text);
    if (isWhole) {
      show('absent', '');
      $('failure-advice').textContent = 'Press Try again.';
    }
    $('repair').hidden = isWhole;
    $('repair').disabled = false;
    repairing = false;
  }

  setTimeout(look, LOOK_ms);
  sumpside.events.addEventListener('failed', onFailure);
  $('repair').addEventListener('click', repair);
})();
