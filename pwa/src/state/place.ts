/** Where the page is: its own addresses, without a library. */
import { signal } from "@preact/signals";

export const place = signal(location.pathname);

export function go(path: string): void {
  history.pushState(null, "", path);
  place.value = path;
  scrollTo(0, 0);
}

addEventListener("popstate", () => {
  place.value = location.pathname;
});

export function link(event: MouseEvent): void {
  const anchor = (event.target as Element).closest("a");
  const plain = !(event.ctrlKey || event.metaKey || event.shiftKey || event.button);
  if (!anchor || !plain || anchor.target || anchor.origin !== location.origin) return;
  if (anchor.pathname.startsWith("/api/")) return;
  event.preventDefault();
  go(anchor.pathname);
}
