/** Puts text on the clipboard; without leave to, marks it where it stands, for the keys of the system. */
export async function copyText(text: string, shown: HTMLElement | undefined): Promise<"copied" | "marked"> {
  try {
    // Not there at all on pages that did not come over TLS or from this machine.
    await navigator.clipboard.writeText(text);
    return "copied";
  } catch {
    if (shown) getSelection()?.selectAllChildren(shown);
    return "marked";
  }
}
