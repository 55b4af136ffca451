'use strict';
// Registers our service worker once the app runs, looks for updates, and applies one only when
// the app asks for it and no form is open.
(() => {
  const workers = navigator.serviceWorker;
  let registration = null;
  let asked = false;
  let announced = null;
  let applied = false;

  function announce() {
    const { waiting, active } = registration;
    if (!waiting || !active || waiting === announced) return; // none active: the first install
    announced = waiting;
    sumpside.toPython('update_ready');
  }

  function watch(worker) {
    if (worker) worker.addEventListener('statechange', announce);
  }

  function hello() {
    if (!workers.controller) return;
    workers.controller.postMessage({ kind: 'hello', build: sumpside.build });
  }

  function check() {
    // Offline this fails, and the next chance is when the network or the page comes back.
    if (registration) registration.update().catch((error) => console.info(String(error)));
    hello(); // and what the browser dropped is put back
  }

  // Looks for a newer version and waits until it is stored; whether one waits now.
  sumpside.findUpdate = async () => {
    if (!registration) return false;
    try {
      await registration.update();
    } catch (error) {
      console.info(String(error));
      return false;
    }
    const { installing } = registration;
    while (installing && installing.state === 'installing') {
      await new Promise((changed) => {
        installing.addEventListener('statechange', changed, { once: true });
      });
    }
    return Boolean(registration.waiting);
  };

  async function register() {
    if (registration) return;
    registration = await workers.register('service_worker.js', { updateViaCache: 'none' });
    watch(registration.installing);
    registration.addEventListener('updatefound', () => watch(registration.installing));
    announce();
    check();
  }

  function reloadWhenIdle() {
    if (!asked || sumpside.busy) return;
    asked = false;
    window.location.reload();
  }

  workers?.addEventListener('controllerchange', () => {
    hello();
    if (!asked) return; // another tab applied it: this one goes on with its own version
    applied = true;
    reloadWhenIdle();
  });
  sumpside.events.addEventListener('busy', () => {
    if (applied) reloadWhenIdle();
  });

  sumpside.answers.apply_update = () => {
    if (!registration || !registration.waiting || sumpside.busy) return false;
    asked = true;
    registration.waiting.postMessage({ kind: 'apply' });
    return true;
  };

  if (!workers) return; // plain http over a network, or a private window: nothing to install
  hello();
  const begin = () => register().catch((error) => console.info(`Not installed: ${error}`));
  sumpside.events.addEventListener('running', begin);
  sumpside.events.addEventListener('failed', begin);
  window.addEventListener('online', check);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') check();
  });
})();
