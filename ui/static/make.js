/** Make an HTML element in a parent; text is set as text, never as markup. */
export function make(name, attributes, parent, text) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {})) e.setAttribute(key, value);
  if (text != null) e.textContent = text;
  if (parent) parent.append(e);
  return e;
}
