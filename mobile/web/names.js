'use strict';
// Names of what this site keeps on the device. Several sites can share one origin, so every name
// but those of a site at "/" bears its base; mobile/browser/names.py gives the same names.
function sumpsideName(name, base) {
  const path = base.replace(/^\/+|\/+$/g, '');
  return path ? `${name}@${path.replaceAll('~', '%7E').replaceAll('/', '~')}` : name;
}
