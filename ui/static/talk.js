// How the table tells Python what happened at the picture: straight to a door of its own, one message after the other.
// Everything else goes through the interface library, which takes longer.
//
// An answer has one JSON object a line (ui/table.py): where the new pictures are, and when they are painted, the scene.

const STRAIGHT = ["commit", "act"];
const AT_ONCE = ["stop", "ways"]; // these change nothing, and wait for nothing

export class Talk {
  constructor(table, trigger) {
    this.table = table;
    this.trigger = trigger;
    this.last = Promise.resolve();
  }

  tell(event, data) {
    if (!STRAIGHT.includes(event)) this.trigger(event, data);
    else if (AT_ONCE.includes(data.do)) this.post(event, data);
    else this.last = this.last.then(() => new Promise((taken) => this.post(event, data, taken))); // undo must not overtake what it undoes
  }

  /** Post a message and hand the answer to the table, line by line; ``taken`` is called when Python has done it. */
  async post(event, data, taken = () => {}) {
    const word = this.table.scene.word || new URLSearchParams(location.search).get("p");
    const shown = this.table.editor.panes.map((pane) => pane.view.name); // what is looked at is painted first
    try {
      const answer = await fetch(`/table/${word}/${event}`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ ...data, shown }) });
      if (!answer.ok) throw new Error(answer.statusText);
      const parts = answer.body.pipeThrough(new TextDecoderStream()).getReader();
      let text = "";
      for (let part = await parts.read(); !part.done; part = await parts.read()) {
        const lines = (text + part.value).split("\n");
        text = lines.pop();
        for (const line of lines) {
          taken();
          this.table.take(JSON.parse(line));
        }
      }
    } catch (error) {
      const text = "The program did not answer, so that was not saved. See whether it still runs, and load the page again.";
      this.table.say({ place: "table", text, kind: "error" });
      console.warn(error);
    }
    taken();
  }
}
