// By the keyboard a group of buttons is one stop: arrows go on inside it, Tab goes on to the next.

const NEXT: Record<string, number> = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

function buttonsOf(group: Element): HTMLButtonElement[] {
  return Array.from(group.querySelectorAll<HTMLButtonElement>(":scope > button"));
}

function oneStop(group: Element, stop: HTMLButtonElement | undefined): void {
  for (const button of buttonsOf(group)) button.tabIndex = button === stop ? 0 : -1;
}

/** Groups of a page that has come into the document, or of a part of it that has changed. */
export function groupStops(): void {
  for (const group of document.querySelectorAll(".look .taps")) {
    const buttons = buttonsOf(group);
    if (buttons.length > 1) oneStop(group, buttons.find((each) => each === document.activeElement) ?? buttons[0]);
  }
}

export function catchKeys(): void {
  document.addEventListener("keydown", (pressed) => {
    const button = (pressed.target as Element).closest<HTMLButtonElement>(".look .taps > button");
    const group = button?.parentElement;
    if (!button || !group) return;
    const buttons = buttonsOf(group);
    const step = NEXT[pressed.key];
    const at = pressed.key === "Home" ? 0 : pressed.key === "End" ? buttons.length - 1 : step === undefined ? -1 : (buttons.indexOf(button) + step + buttons.length) % buttons.length;
    const to = buttons[at];
    if (!to) return;
    pressed.preventDefault();
    oneStop(group, to);
    to.focus();
  });
}
