/** Registers the service worker; a waiting version is shown and taken when the person says so. */
import { newVersion } from "./state.ts";

const WORKER = "/sw.js";

interface Policy {
  createScriptURL(url: string): string;
}
interface Policies {
  createPolicy(name: string, rules: { createScriptURL: (url: string) => string }): Policy;
}

/** The one script address this page ever loads by itself, vouched for where the browser asks. */
function workerUrl(): string {
  const policies = (globalThis as { trustedTypes?: Policies }).trustedTypes;
  if (!policies) return WORKER;
  const policy = policies.createPolicy("tinwright", {
    createScriptURL(url) {
      if (url !== WORKER) throw new TypeError(url);
      return url;
    },
  });
  return policy.createScriptURL(WORKER);
}

export async function registerWorker(): Promise<void> {
  if (!("serviceWorker" in navigator)) return;
  const registration = await navigator.serviceWorker.register(workerUrl());
  const offer = (): void => {
    if (registration.waiting && navigator.serviceWorker.controller)
      newVersion.value = registration.waiting;
  };
  offer();
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", offer);
  });
  let before = navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (before) location.reload();
    before = navigator.serviceWorker.controller;
  });
}
