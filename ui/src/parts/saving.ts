/** Hands a file over to the browser's downloads. */
export function saveFile(name: string, content: Blob): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  // Later, or the browser finds nothing there.
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
