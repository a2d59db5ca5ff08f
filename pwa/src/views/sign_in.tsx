/** Signing in. */
import { useState } from "preact/hooks";
import { mustSignIn, signIn, who } from "../state/state.ts";
import { words } from "../texts/en.ts";

export function SignIn() {
  const [why, setWhy] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const submit = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const form = new FormData(event.currentTarget as HTMLFormElement);
    setBusy(true);
    setWhy(await signIn(String(form.get("name")), String(form.get("password"))));
    setBusy(false);
  };
  return (
    <main class="sign-in">
      <h1>Tinwright</h1>
      {mustSignIn.value && who.value && (
        <p class="said">
          Please sign in again as {who.value.name}. What you saved is still on this device.
        </p>
      )}
      <form onSubmit={submit}>
        <label>
          {words.name}
          <input name="name" autocomplete="username" autocapitalize="none" required />
        </label>
        <label>
          {words.password}
          <input name="password" type="password" autocomplete="current-password" required />
        </label>
        <button type="submit" class="main" disabled={busy}>
          {words.signIn}
        </button>
        <p role="alert" class="why">
          {why}
        </p>
      </form>
    </main>
  );
}
