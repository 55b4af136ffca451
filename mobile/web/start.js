'use strict';
// First script of the page: what Flutter and Python need to know before they start.
const sumpside = {
  base: new URL(document.baseURI).pathname,
  build: document.querySelector('meta[name="sumpside-build"]').content,
  events: new EventTarget(), // 'step', 'failed', 'running', 'drawn', 'busy'
  busy: false,
  early: [], // what happened before the page's own scripts listened; null from then on
  tell(name, detail) {
    if (this.early) this.early.push([name, detail]);
    else this.events.dispatchEvent(new CustomEvent(name, { detail }));
  },
  fail(detail) {
    this.tell('failed', String(detail));
  },
  // Whether the app cannot start without a file, given by its name below the base.
  needs: (name) =>
    name === 'assets/FontManifest.json' ||
    !/^(?:assets|icons|screenshots)\/|^(?:emergency|recovery|manifest|notices\.json|version)/.test(name),
};

document.addEventListener('DOMContentLoaded', () => {
  const { early } = sumpside;
  sumpside.early = null;
  for (const [name, detail] of early) sumpside.tell(name, detail);
});

// A locale such as "C" is no language tag: Flutter would throw on it and show an empty page.
(function repairLanguage() {
  const isTag = (tag) => {
    try {
      return Boolean(new Intl.Locale(tag));
    } catch (error) {
      if (error instanceof RangeError || error instanceof TypeError) return false;
      throw error;
    }
  };
  const wanted = navigator.languages || [navigator.language];
  const usable = wanted.filter(isTag);
  if (usable.length === wanted.length && usable.length && isTag(navigator.language)) return;
  const languages = usable.length ? usable : ['en'];
  Object.defineProperty(navigator, 'language', { value: languages[0], configurable: true });
  Object.defineProperty(navigator, 'languages', {
    value: Object.freeze(languages),
    configurable: true,
  });
})();

// Read by flutter_bootstrap.js and by the client.
const flet = {
  pyodide: true,
  multiView: false,
  noCdn: true,
  entrypointBaseUrl: sumpside.base,
  assetBase: sumpside.base,
  routeUrlStrategy: 'hash',
  canvasKitBaseUrl: `${sumpside.base}canvaskit/`,
  // One small font answers for every glyph that ours lacks: the client appends a family's path,
  // which becomes a query here. Without an answer it would ask again for ever.
  fontFallbackBaseUrl: `${sumpside.base}assets/fonts/fallback.ttf?for=`,
  webRenderer: 'canvaskit',
  flutterAppResolve: () => sumpside.tell('step', 'flutter'),
};
window.flet = flet; // the client looks it up on the global object

window.addEventListener(
  'error',
  (event) => {
    const source = event.target instanceof HTMLScriptElement && event.target.src;
    if (source) sumpside.fail(`A part of the app could not be loaded: ${source}`);
  },
  true, // loading errors of elements do not bubble
);

// A file that cannot be loaded ends the start with its name: Flutter would wait for it for ever.
(function watchFetch() {
  const plain = window.fetch;
  const ours = new URL(sumpside.base, window.location.href).href;
  const failed = (url, detail) => {
    const name = url.startsWith(ours) ? url.slice(ours.length).split('?')[0] : url;
    if (sumpside.needs(name)) sumpside.fail(`${name}: ${detail}`);
  };
  window.fetch = async (asked, options) => {
    const address = new URL(asked instanceof Request ? asked.url : asked, document.baseURI).href;
    try {
      const response = await plain(asked, options);
      if (!response.ok) failed(address, `HTTP ${response.status}`);
      return response;
    } catch (error) {
      failed(address, error);
      throw error;
    }
  };
  sumpside.events.addEventListener('running', () => {
    window.fetch = plain;
  });
})();

// A module that Flutter imports: its failure reaches nobody else.
window.addEventListener('unhandledrejection', ({ reason }) => {
  const isImport = reason instanceof TypeError && /import|module/i.test(reason.message);
  if (isImport && document.documentElement.dataset.state === 'starting') sumpside.fail(reason);
});

// WebKit brings a page back with Flutter's frames stopped; only a fresh start draws again.
window.addEventListener('pageshow', (event) => {
  if (event.persisted && navigator.vendor && navigator.vendor.startsWith('Apple')) {
    window.location.reload();
  }
});
