/// <reference lib="webworker" />
/** The service worker: keeps the page's own files, whole or not at all, and answers every address of its own with them. */
import {
  cleanupOutdatedCaches,
  createHandlerBoundToURL,
  precacheAndRoute,
} from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";

declare const self: ServiceWorkerGlobalScope;
declare const __MANIFEST__: { url: string; revision: string }[];

precacheAndRoute(__MANIFEST__);
cleanupOutdatedCaches();
registerRoute(
  new NavigationRoute(createHandlerBoundToURL("/index.html"), {
    denylist: [/^\/api\//, /^\/healthz$/, /^\/readyz$/],
  }),
);

// A waiting version takes over only when the page says so, never in the middle of somebody's work.
self.addEventListener("message", (event) => {
  if (event.data === "take over") void self.skipWaiting();
});
