/** Make an HTML element in a parent; text is set as text, never as markup. */
export function make(name, attributes, parent, text) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {})) e.setAttribute(key, value);
  if (text != null) e.textContent = text;
  if (parent) parent.append(e);
  return e;
}

/** Make an SVG element in a parent; attributes that are null are left out. */
export function svg(name, attributes, parent) {
  const e = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) if (value != null) e.setAttribute(key, value);
  if (parent) parent.append(e);
  return e;
}
