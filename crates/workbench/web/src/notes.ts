// Notes that open beside a value: Escape closes the one that has the focus, and without one the last that is open.

/** Begins to listen. */
export function notes(): void {
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || event.defaultPrevented) return;
    const open = [...document.querySelectorAll<HTMLDetailsElement>("details.asked[open]")];
    const own = open.filter((note) => note.contains(document.activeElement)).at(-1);
    // In a field Escape belongs to the field.
    const idle = document.activeElement === document.body || document.activeElement === null;
    const note = own ?? (idle ? open.at(-1) : undefined);
    if (!note) return;
    note.open = false;
    note.querySelector("summary")?.focus({ preventScroll: true });
  });
}
