/**
 * The door of a phone that has a PIN: asks for it, counts wrong tries, empties the phone when there
 * were too many, and sets, changes and removes the PIN
 * and the passkey beside it. While the door is shut there is no core.
 */
import type { Answer, Args, PasskeySaid } from '../answer';
import type { NoticeView, Text, View } from '../views';
import { cannotLock, emptied, forgotten, lockForm, lockSet, shutDoor } from './doorviews';
import { mostTries, openFromMS, shortest, weakness } from './lock';
import { trouble } from './notices';
import type { Vault } from './vault';

export interface DoorParts {
  readonly vault: Vault;
  readonly wallMS: () => number;
  /** Shows a screen that nobody asked for. */
  readonly show: (view: View) => void;
  /** Runs something while no command of the core does. */
  readonly alone: (run: () => Promise<void>) => Promise<void>;
  /** Starts the core anew, which then knows whether there is a lock. */
  readonly reopen: () => Promise<void>;
  /** Shuts the phone: all that is open is closed, and another door waits. */
  readonly shut: () => void;
  /** Whether this phone has passkeys that can open a lock. */
  readonly hasPasskeys: () => boolean;
  /** Tells the server that this phone is given up, if it can be reached. */
  readonly signOff: () => Promise<unknown>;
}

type Values = { readonly [id: string]: string };
type Errors = { readonly [id: string]: Text };

export class Door {
  private open: (() => void) | undefined;
  private last: Promise<unknown> = Promise.resolve();

  constructor(private readonly parts: DoorParts) {}

  /** Whether a person has to open it first. */
  get isShut(): boolean {
    return this.open !== undefined;
  }

  /** Waits until the phone is open: at once where it has no lock. */
  async opened(): Promise<void> {
    const { vault, wallMS } = this.parts;
    if (!vault.isLocked) return;
    await vault.setBack(wallMS());
    const open = new Promise<void>((done) => (this.open = done));
    this.parts.show(this.screen());
    await open;
    this.open = undefined;
  }

  /** Does one command about the lock, one at a time: each wrong PIN counts. */
  run(name: string, args: Args): Promise<Answer> {
    const values = (args['values'] ?? {}) as Values;
    const mine = this.last.then(() => {
      if (name === 'lock.key') return this.tryPasskey(args['said'] as PasskeySaid | undefined);
      return this.isShut ? this.whileShut(name, values['pin'] ?? '') : this.whileOpen(name, values);
    });
    this.last = mine.catch(() => undefined); // the caller hears of it
    return mine;
  }

  private async whileOpen(name: string, values: Values): Promise<Answer> {
    switch (name) {
      case 'lock.form':
        return { view: this.front() };
      case 'lock.edit':
        return { view: this.form({}) };
      case 'lock.set':
        return this.set(values);
      case 'lock.remove':
        return this.change(values, { k: 'lock.is_removed' }, (vault) => vault.removeLock());
      case 'lock.now':
        return this.lockNow();
    }
    return {};
  }

  /** Locks when what is being stored is stored; what storage does not take keeps the phone open. */
  private async lockNow(): Promise<Answer> {
    const { vault, alone, shut } = this.parts;
    await alone(async () => undefined);
    if (vault.unsaved > 0) return { error: trouble('storage') };
    shut();
    return {};
  }

  private async whileShut(name: string, pin: string): Promise<Answer> {
    switch (name) {
      case 'lock.open':
        return this.tryPIN(pin);
      case 'lock.forgot':
        return { view: forgotten(this.parts.vault.lock!) };
      case 'lock.wipe':
        await this.wipe();
        this.open?.();
        return {};
      case 'lock.on':
        this.open?.();
        return {};
    }
    return { view: this.screen() };
  }

  private async tryPIN(pin: string): Promise<Answer> {
    const wrong = await this.wrong(pin);
    if (!wrong) {
      this.open?.();
      return {};
    }
    const { tries, unsent } = this.parts.vault.lock!;
    if (tries >= mostTries && unsent === 0) await this.wipe();
    return { view: this.screen(wrong) };
  }

  /** Opens the lock by its passkey, or has a new one open it from now on. */
  private async tryPasskey(said: PasskeySaid | undefined): Promise<Answer> {
    const { vault, alone } = this.parts;
    const failed: Text = { k: 'lock.key_failed' };
    if (this.isShut) {
      if (!said || !(await vault.unlockBy(said))) return { view: this.screen(failed) };
      this.open?.();
      return {};
    }
    if (!said || !vault.takesPasskey) return { view: this.front(failed) };
    await alone(() => vault.addPasskey(said));
    return { view: this.front() };
  }

  /** Why a PIN does not open, or undefined when it does. */
  private async wrong(pin: string): Promise<Text | undefined> {
    const { vault, wallMS } = this.parts;
    if (pin.trim() === '') return { k: 'lock.empty' };
    if (openFromMS(vault.lock!, wallMS()) > 0) return { k: 'lock.early' };
    return (await vault.unlock(pin, wallMS())) ? undefined : { k: 'lock.wrong' };
  }

  private screen(error?: Text): NoticeView {
    const { lock } = this.parts.vault;
    if (!lock) return emptied();
    return shutDoor(lock, mostTries, openFromMS(lock, this.parts.wallMS()), error);
  }

  private async wipe(): Promise<void> {
    await this.parts.vault.wipe();
    await this.parts.signOff();
  }

  private async set(values: Values): Promise<Answer> {
    const { pin = '', again = '', minutes = '5' } = values;
    const weak = weakness(pin);
    if (weak === 'short') return this.refuse({ pin: { k: 'lock.short', a: { n: shortest } } });
    if (weak === 'plain') return this.refuse({ pin: { k: 'lock.plain' } });
    if (pin !== again) return this.refuse({ again: { k: 'lock.differ' } });
    return this.change(values, { k: 'lock.is_set' }, (vault) => vault.setLock(pin, Number(minutes)));
  }

  private async change(
    values: Values,
    done: Text,
    act: (vault: Vault) => Promise<void>,
  ): Promise<Answer> {
    const { vault } = this.parts;
    const old = vault.lock ? await this.wrong(values['old'] ?? '') : undefined;
    if (old) return this.refuse({ old });
    try {
      await this.parts.alone(() => act(vault));
      await this.parts.reopen();
    } catch (cause: unknown) {
      console.error(cause); // one transaction: all is as it was
      return { error: trouble('storage') };
    }
    return { view: this.front(done) };
  }

  private refuse(errors: Errors): Answer {
    return { view: this.form(errors) };
  }

  private front(said?: Text): View {
    const { canSeal, lock, takesPasskey } = this.parts.vault;
    if (!canSeal) return cannotLock();
    return lock ? lockSet(lock, takesPasskey && this.parts.hasPasskeys(), said) : this.form({}, said);
  }

  private form(errors: Errors, said?: Text): View {
    return lockForm(
      this.parts.vault.lock, mostTries, this.parts.hasPasskeys(), errors, said);
  }
}
