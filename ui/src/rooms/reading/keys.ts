/** Which key does what while a recording is played. */
export type Action =
  | { do: "frame" | "second" | "tenth"; way: 1 | -1 }
  | { do: "start" | "end" | "play" | "faster" | "slower" | "zoom" | "confirm" | "send" }
  | { do: "moment"; way: 1 | -1 }
  | { do: "tube"; place: number }
  | { do: "mark"; end: "first" | "last"; seen: boolean };

export interface KeyPress {
  key: string;
  shiftKey: boolean;
  altKey: boolean;
  ctrlKey: boolean;
  metaKey: boolean;
}

/**
 * The action of a key press. Keys that print a character do nothing when `letters` is off (someone who
 * speaks to their machine switches them off).
 */
export function actionOf(press: KeyPress, letters: boolean): Action | null {
  if (press.ctrlKey || press.metaKey) return null;
  switch (press.key) {
    case "ArrowLeft":
    case "ArrowRight": {
      const way = press.key === "ArrowRight" ? 1 : -1;
      return { do: press.altKey ? "tenth" : press.shiftKey ? "second" : "frame", way };
    }
    case "Home":
      return { do: "start" };
    case "End":
      return { do: "end" };
  }
  if (press.altKey || !letters) return null;
  switch (press.key.toLowerCase()) {
    case " ":
      return { do: "play" };
    case "+":
    case "=":
      return { do: "faster" };
    case "-":
      return { do: "slower" };
    case "1":
    case "2":
    case "3":
      return { do: "tube", place: Number(press.key) };
    case "f":
      return { do: "mark", end: "first", seen: !press.shiftKey };
    case "l":
      return { do: "mark", end: "last", seen: !press.shiftKey };
    case "c":
      return { do: "confirm" };
    case "s":
      return { do: "send" };
    case "n":
      return { do: "moment", way: 1 };
    case "p":
      return { do: "moment", way: -1 };
    case "z":
      return { do: "zoom" };
    default:
      return null;
  }
}

/** Whether a key belongs to the control that has the focus rather than to the recording. */
export function belongsTo(target: EventTarget | null, key: string): boolean {
  if (!(target instanceof Element)) return false;
  if (target.closest("dialog, input:not([type=checkbox]), select, textarea, [contenteditable]")) return true;
  return (key === " " || key === "Enter") && target.closest("button, a, summary, label, input") !== null;
}
