/**
 * Speaks short phrases with a voice that is on the phone: a voice from the network would be late or
 * missing where it is needed.
 */

/** Says the words in the language, if there is a voice for it here; answers whether there is. */
export function speak(words: string, lang: string): boolean {
  const synth = window.speechSynthesis as SpeechSynthesis | undefined;
  const short = lang.split('-')[0]!;
  const voice = synth?.getVoices().find((one) => one.localService && one.lang.startsWith(short));
  if (!synth || !voice) return false;
  synth.cancel(); // what is late is not worth hearing
  const utterance = new SpeechSynthesisUtterance(words);
  utterance.voice = voice;
  utterance.lang = voice.lang;
  synth.speak(utterance);
  return true;
}

export function hush(): void {
  (window.speechSynthesis as SpeechSynthesis | undefined)?.cancel();
}

// Some browsers load their voices only after somebody has asked for them.
(window.speechSynthesis as SpeechSynthesis | undefined)?.getVoices();
