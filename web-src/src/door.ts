// Somebody who is not let in any more goes to the door, once, and comes back to where they were: not to whatever
// happened to be fetched for later, and not a second time while the door is already opening.

let going = false;

/** Did this answer lead to the door? Then so does this page. back: where to come back to. */
export function ledToTheDoor(answer: Response, back = window.location.pathname): boolean {
  if (!answer.redirected || new URL(answer.url).pathname !== "/login") return false;
  if (!going && !window.location.pathname.startsWith("/login")) {
    going = true;
    window.location.assign(`/login?to=${encodeURIComponent(back)}`);
  }
  return true;
}

// A page that a browser takes out of its own store again has not gone anywhere.
window.addEventListener("pageshow", () => {
  going = false;
});
