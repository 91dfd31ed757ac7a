// Sends what the phone's camera took to the computer, one photo at a time, and says what became of it.

const sent = document.getElementById("sent");

async function send(input) {
  const [file] = input.files;
  if (!file) return;
  const li = document.createElement("li");
  sent.prepend(li);
  li.textContent = `Sending ${Math.max(1, Math.round(file.size / 100000) / 10)} MB …`;
  const query = new URLSearchParams({ what: input.dataset.what, reference: document.getElementById("reference").value });
  try {
    const answer = await fetch(`/phone/photo?${query}`, { method: "POST", body: file, headers: { "content-type": "application/octet-stream" } });
    const type = answer.headers.get("content-type") || "";
    const said = type.includes("json") ? await answer.json() : { kind: "error", text: await answer.text() };
    li.textContent = said.text;
    li.className = said.kind;
  } catch {
    li.textContent = "It did not arrive. Is the computer still on, and in the same network?";
    li.className = "error";
  }
  input.value = "";
}

for (const input of document.querySelectorAll("input[type=file]")) input.addEventListener("change", () => send(input));
