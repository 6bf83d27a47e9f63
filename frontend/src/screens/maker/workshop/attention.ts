/** Call someone who is not looking at the phone: it shakes and beeps, where it can. */

const BEEP_HZ = 880
const BEEP_S = 0.6

export function callAttention(): void {
  // Where it cannot shake, as in Safari, it beeps.
  // eslint-disable-next-line compat/compat
  navigator.vibrate?.([400, 200, 400])
  const sound = new AudioContext()
  const tone = sound.createOscillator()
  tone.frequency.value = BEEP_HZ
  tone.connect(sound.destination)
  tone.onended = () => void sound.close()
  tone.start()
  tone.stop(sound.currentTime + BEEP_S)
}
