// How the table tells Python what happened at the picture: straight to a door of its own, one message after the other.
// Everything else goes through the interface library, which takes longer.

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
    else this.last = this.last.then(() => this.post(event, data)); // undo must not overtake what it undoes
  }

  async post(event, data) {
    const word = this.table.scene.word || new URLSearchParams(location.search).get("p");
    const shown = this.table.editor.panes.map((pane) => pane.view.name); // what is looked at is painted first
    try {
      const answer = await fetch(`/table/${word}/${event}`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ ...data, shown }) });
      if (!answer.ok) throw new Error(answer.statusText);
      this.table.take(await answer.json());
    } catch (error) {
      const text = "The program did not answer, so that was not saved. See whether it still runs, and load the page again.";
      this.table.say({ place: "table", text, kind: "error" });
      console.warn(error);
    }
  }
}
