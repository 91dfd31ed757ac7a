// Files of a kind that a question cannot read are refused before they are sent, in one sentence beside that question.

/** What an input takes, in words: "PNG, JPG or SVG", or "pictures". */
function words(accept) {
  const kinds = accept.map((a) => (a.startsWith(".") ? a.slice(1).toUpperCase() : "")).filter(Boolean);
  if (!kinds.length) return "pictures";
  return kinds.length > 1 ? `${kinds.slice(0, -1).join(", ")} or ${kinds.at(-1)}` : kinds[0];
}

function fits(file, accept) {
  const name = file.name.toLowerCase();
  return accept.some((a) => (a.startsWith(".") ? name.endsWith(a) : a.endsWith("/*") ? file.type.startsWith(a.slice(0, -1)) : file.type === a));
}

/** Look at every file that is chosen or dropped on the page; `say` shows a sentence. */
export function watchFiles(say) {
  document.addEventListener("change", (e) => {
    const input = e.target;
    const question = input.type === "file" && input.closest("[id^=q-]");
    if (!question) return;
    const accept = input.accept.split(",").map((a) => a.trim().toLowerCase()).filter(Boolean);
    const wrong = accept.length ? [...input.files].filter((f) => !fits(f, accept)) : [];
    if (!wrong.length) return;
    e.stopImmediatePropagation();
    const more = input.files.length > 1 ? " None of the files was added." : "";
    input.value = "";
    const text = `${wrong[0].name} is a kind of file that cannot be read here. This takes ${words(accept)}.${more}`;
    say({ place: question.id.slice(2), text, kind: "error" });
  }, true);
}
