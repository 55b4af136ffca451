'use strict';
// The page around the app: progress, failure, the emergency card, and what Python asks of it.
(() => {
  const $ = (id) => document.getElementById(id);
  const STEPS = ['python', 'unpack', 'flutter', 'records'];
  const WORDS = {
    python: 'starting Python',
    unpack: 'unpacking the program',
    flutter: 'drawing the screen',
    records: 'opening your records',
  };
  const SLOW_ms = 15000;
  const RECORDS_ms = 30000; // then the way to the records without the app is offered
  const QUIET_ms = 600; // Python's first screen comes in one or two messages
  const NOT_OPENED = 'Your records were not opened yet: this failure did not touch them.';
  const OPENED =
    'This failure erased nothing. An entry that was just being saved may be missing: look.';
  const done = new Set();
  let drawn = 0;
  let firstFrame = false;
  const state = (value) => {
    if (value) document.documentElement.dataset.state = value;
    return document.documentElement.dataset.state;
  };

  const show = (id) => () => {
    $(id).hidden = false;
  };
  const timers = [setTimeout(show('slow'), SLOW_ms), setTimeout(show('records'), RECORDS_ms)];
  const stopTimers = () => timers.forEach(clearTimeout);

  function onStep(name) {
    if (state() !== 'starting') return;
    done.add(name);
    $('bar').value = done.size;
    $('step').textContent = `Starting… step ${done.size} of ${STEPS.length}: ${WORDS[name]}`;
  }

  function onFailure(detail) {
    console.error(`Sumpside: ${detail}`);
    if (state() === 'failed') {
      $('failure-detail').textContent += `\n${detail}`; // what follows from the first failure
      return;
    }
    if (state() === 'running') $('failure-title').textContent = 'Sumpside stopped.';
    $('failure-records').textContent = done.has('records') ? OPENED : NOT_OPENED;
    state('failed');
    if (!navigator.onLine) {
      $('failure-advice').textContent =
        'This device has no network. The first start needs it once: connect, then press Try again.';
    }
    stopTimers();
    $('start').hidden = false;
    $('records').hidden = false;
    $('progress').hidden = true;
    $('failure').hidden = false;
    $('failure-detail').textContent = detail;
  }

  function enableSemantics(tries) {
    // Screen readers need Flutter's semantics tree; it waits for this press.
    const placeholder = document.querySelector('flt-semantics-placeholder');
    if (placeholder) placeholder.click();
    else if (tries) requestAnimationFrame(() => enableSemantics(tries - 1));
  }

  function reveal() {
    if (state() !== 'starting' || !firstFrame || !drawn) return;
    requestAnimationFrame(() =>
      requestAnimationFrame(() => {
        if (state() !== 'starting') return;
        stopTimers();
        $('start').hidden = true;
        state('running');
        sumpside.tell('running');
      }),
    );
  }

  function onDrawn() {
    if (state() !== 'starting') return;
    drawn += 1;
    if (drawn > 1) reveal();
    else setTimeout(reveal, QUIET_ms);
  }

  // While the card is open one entry of the browser's history is ours: Back closes the card. The
  // entry repeats Flutter's own state, and Flutter is not told of our steps.
  let entry = false;
  let leaving = false;

  function openCard() {
    if ($('card').open) return;
    const frame = document.createElement('iframe');
    frame.title = 'Overdose: emergency card';
    frame.src = 'emergency.html';
    $('card').append(frame);
    $('card').showModal();
    history.pushState(history.state, '', window.location.href);
    entry = true;
  }

  function closeCard() {
    $('card').close();
  }

  function onClosed() {
    $('card').querySelector('iframe').remove();
    if (!entry) return;
    entry = false;
    leaving = true;
    history.back();
  }

  function onBack(event) {
    if (leaving) {
      leaving = false;
    } else if (entry) {
      entry = false;
      closeCard();
    } else {
      return;
    }
    event.stopImmediatePropagation();
  }

  sumpside.events.addEventListener('step', ({ detail }) => onStep(detail));
  sumpside.events.addEventListener('failed', ({ detail }) => onFailure(detail));
  sumpside.events.addEventListener('drawn', onDrawn);
  window.addEventListener(
    'flutter-first-frame',
    () => {
      firstFrame = true;
      onStep('flutter');
      enableSemantics(120);
      reveal();
    },
    { once: true },
  );
  $('again').addEventListener('click', () => {
    // A waiting version may be the one that starts.
    if (!sumpside.answers.apply_update()) window.location.reload();
  });
  $('card-close').addEventListener('click', closeCard);
  $('card').addEventListener('close', onClosed);
  window.addEventListener('popstate', onBack, { capture: true });
  window.addEventListener('message', ({ data, origin }) => {
    if (origin !== window.location.origin || data !== 'sumpside:incident') return;
    closeCard();
    sumpside.toPython('incident');
  });
  $('overdose').addEventListener('click', (event) => {
    if (state() !== 'running') return; // a plain link until the app runs
    event.preventDefault();
    openCard();
  });

  sumpside.events.addEventListener('python:open_emergency', openCard);
  sumpside.events.addEventListener('python:busy', ({ detail }) => {
    sumpside.busy = Boolean(detail);
    sumpside.tell('busy');
  });
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') sumpside.toPython('visible');
  });

  const storage = navigator.storage || {};
  Object.assign(sumpside.answers, {
    request_persistence: () => (storage.persist ? storage.persist() : null),
    persisted: () => (storage.persisted ? storage.persisted() : null),
    async storage_estimate() {
      if (!storage.estimate) return null;
      const { usage, quota } = await storage.estimate();
      return [Math.round(usage || 0), Math.round(quota || 0)];
    },
    async publish_figures(figures) {
      const address = new URL('figures.json', document.baseURI).href;
      const name = sumpsideName('sumpside-figures', sumpside.base);
      const headers = { 'Content-Type': 'application/json' };
      const cache = await caches.open(name);
      await cache.put(address, new Response(JSON.stringify(figures), { headers }));
      // What a version before saved under the plain name is older from now on.
      // Not opened where there is none: that would make one, and it is nobody's.
      if (name !== 'sumpside-figures' && (await caches.has('sumpside-figures'))) {
        await (await caches.open('sumpside-figures')).delete(address);
      }
    },
  });
})();
