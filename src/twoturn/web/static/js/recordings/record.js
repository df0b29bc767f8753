// Recording a plucked span in the page: nothing done to the sound, and what the browser did to it read back.
import { Heard } from "./heard.js";
import { wavOf } from "./wav.js";

const LONGEST_S = 60;
const ASKED = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
const WORDS = { echoCancellation: "echo cancelling", noiseSuppression: "noise suppression", autoGainControl: "gain control" };

/** Why this page cannot record; empty where it can. */
export function whyNot() {
  if (!globalThis.isSecureContext) {
    return "This page is not reached by https, so the browser lends it no microphone: record with the telephone's own recorder and choose the file here.";
  }
  if (!navigator.mediaDevices?.getUserMedia || !globalThis.AudioWorkletNode) {
    return "This browser cannot record here: record with the telephone's own recorder and choose the file here.";
  }
  return "";
}

/** The recorder inside `root`; `use(file, settings)` gets what was recorded. */
export class Recorder {
  constructor(root, use) {
    this.root = root;
    this.use = use;
    this.heard = new Heard(root, LONGEST_S);
    root.hidden = false;
    this.part("start").addEventListener("click", () => this.start());
    this.part("stop").addEventListener("click", () => this.stop());
    this.part("use").addEventListener("click", () => this.use(this.file, this.settings));
    addEventListener("pagehide", () => this.stop());
  }

  part(name) {
    return this.root.querySelector(`[data-${name}]`);
  }

  async start() {
    this.part("start").disabled = true;
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ audio: ASKED });
      await this.listen();
    } catch (error) {
      this.ended();
      this.tell(refusal(error));
    }
  }

  async listen() {
    const track = this.stream.getAudioTracks()[0];
    this.context = new AudioContext();
    await this.context.audioWorklet.addModule(new URL("./record_worklet.js", import.meta.url));
    this.settings = readBack(track.getSettings?.() ?? {});
    this.blocks = [];
    this.count = 0;
    this.heard.clear();
    const samples = new AudioWorkletNode(this.context, "samples", { numberOfOutputs: 1, channelCount: 1, channelCountMode: "explicit" });
    samples.port.onmessage = ({ data }) => this.take(data);
    const mute = new GainNode(this.context, { gain: 0 });
    this.context.createMediaStreamSource(this.stream).connect(samples).connect(mute).connect(this.context.destination);
    track.addEventListener("ended", () => this.stop());
    this.part("listening").hidden = false;
    this.part("replay").hidden = true;
    this.part("start").hidden = true;
    this.part("stop").hidden = false;
    this.part("stop").focus();
  }

  take(block) {
    if (!this.context) return;
    const rate = this.context.sampleRate;
    this.heard.add(block, this.count / rate, block.length / rate);
    this.blocks.push(block);
    this.count += block.length;
    if (this.count >= LONGEST_S * rate) this.stop();
  }

  stop() {
    if (!this.context) return;
    const rate = Math.round(this.context.sampleRate);
    this.ended();
    if (!this.count) return this.tell("Nothing came from the microphone: look whether another program holds it.");
    const stamp = new Date().toISOString().replace(/[-:]/g, "").slice(0, 15);
    this.file = new File([wavOf(this.blocks, rate)], `recorded-${stamp}.wav`, { type: "audio/wav" });
    this.blocks = [];
    this.offer();
    return undefined;
  }

  /** Give microphone and sound card back. */
  ended() {
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.context?.close();
    this.context = null;
    this.stream = null;
    Object.assign(this.part("start"), { disabled: false, hidden: false });
    this.part("stop").hidden = true;
  }

  offer() {
    const audio = this.part("audio");
    if (audio.src) URL.revokeObjectURL(audio.src);
    audio.src = URL.createObjectURL(this.file);
    this.part("settings").textContent = settingWords(this.settings);
    this.part("start").textContent = "Record again";
    this.part("replay").hidden = false;
    this.part("use").focus();
  }

  tell(words) {
    this.part("listening").hidden = false;
    this.heard.say(words);
  }
}

/** The settings as the browser tells them; what it does not tell stays unknown. */
function readBack(told) {
  const known = {};
  for (const key of [...Object.keys(WORDS), "sampleRate"]) known[key] = told[key] ?? "unknown";
  return known;
}

function settingWords(settings) {
  const state = (value) => (value === "unknown" ? "unknown" : value ? "on" : "off");
  const said = Object.entries(WORDS).map(([key, words]) => `${words} ${state(settings[key])}`);
  return `The browser's ${said.join(", ")}.`;
}

function refusal(error) {
  if (error.name === "NotAllowedError") return "The microphone is not allowed for this page: allow it in the browser, or choose a file.";
  if (error.name === "NotFoundError") return "There is no microphone here: record with a telephone and choose the file.";
  return "The microphone cannot be used now; another program may hold it. Choose a file instead.";
}
