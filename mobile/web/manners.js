// What a phone can do for somebody whose hands are busy: stay awake, buzz, beep, read back
// aloud, take what a gauge types, hand a file to the system's share sheet, photograph.
// Every answer is plain where the device cannot do it; none fails for a missing feature.
"use strict";
(() => {
  const { answers, tell } = window.boreside;
  const coarse = () => window.matchMedia?.("(pointer: coarse)").matches === true;

  // ---- awake: while a job is open. The browser lets go when the page is out of sight; then it is taken again.
  let wanted = false;
  let lock = null;
  let asking = false;
  async function hold() {
    if (!wanted || lock || asking || document.visibilityState !== "visible" || !navigator.wakeLock) return;
    asking = true;
    try {
      const got = await navigator.wakeLock.request("screen");
      got.addEventListener("release", () => { if (lock === got) lock = null; });
      lock = got;
    } catch (error) {
      // refused, with a low battery say: asked again when the page is next in sight
    }
    asking = false;
    if (lock && !wanted) await free();
  }
  async function free() {
    const had = lock;
    lock = null;
    await had?.release().catch(() => {});
  }
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") hold(); else free(); });
  answers.awake = async (on) => {
    wanted = !!on;
    await (wanted ? hold() : free());
    return lock !== null;
  };

  // ---- told without a look at the screen
  const TONES = { taken: [[1320, 0, 0.07]], refused: [[220, 0, 0.16], [220, 0.24, 0.16]] }; // pitch in hertz, begin and length in seconds
  const BUZZ = { taken: [35], refused: [70, 60, 70] }; // milliseconds on, off, on
  let sound = null;
  function beep(kind) {
    const Sound = window.AudioContext || window.webkitAudioContext;
    if (!Sound) return;
    sound ||= new Sound();
    if (sound.state === "suspended") sound.resume().catch(() => {});
    for (const [pitch, begin, length] of TONES[kind]) {
      const tone = sound.createOscillator(), level = sound.createGain(), at = sound.currentTime + begin;
      tone.frequency.value = pitch;
      level.gain.setValueAtTime(0.3, at);
      level.gain.setTargetAtTime(0, at + length, 0.01);
      tone.connect(level).connect(sound.destination);
      tone.start(at);
      tone.stop(at + length + 0.08);
    }
  }
  // Only a voice that is on the device: another would send what is said to its maker.
  const speech = window.speechSynthesis;
  const voice = (language) => speech?.getVoices().find((v) => v.localService && v.lang.toLowerCase().startsWith(language));
  answers.voice = async (language) => {
    for (let n = 0; speech && n < 10 && !speech.getVoices().length; n++) await new Promise((done) => setTimeout(done, 100));
    return voice(language)?.name ?? "";
  };
  function speak(words, language) {
    const by = voice(language);
    if (!by) return;
    speech.cancel(); // the last number is no longer of interest
    const said = new SpeechSynthesisUtterance(words);
    said.voice = by;
    said.lang = by.lang;
    speech.speak(said);
  }
  answers.signal = async ({ kind, beeps, buzzes, words, language }) => {
    try {
      if (buzzes) navigator.vibrate?.(BUZZ[kind]);
      if (beeps) beep(kind);
      if (words) speak(words, language);
    } catch (error) {
      console.warn("Not told: " + error.message); // the value is stored all the same
    }
    return true;
  };
  answers.able = async () => ({
    awake: !!navigator.wakeLock, buzz: coarse() && !!navigator.vibrate, beep: !!(window.AudioContext || window.webkitAudioContext),
    camera: coarse() && "capture" in document.createElement("input"),
  });

  // ---- a gauge that types, by cable or wireless: keys faster than a hand, ended by Enter or Tab.
  // The second and later keys of such a run are kept back and told as one reading; where no end
  // comes they were a quick hand's after all and are handed on one by one. A unit's letters behind
  // a number are kept back at any speed, for alone they mean keys of the pad.
  const GAP = 40; // ms between two keys; a hand needs twice that
  const NUMERIC = /^[0-9.,/+\-\u2212 ]$/;
  const LETTER = /^[a-zµμ"°²]$/i;
  let run = ""; // keys that followed each other quickly
  let back = []; // of them, those kept back
  let letters = ""; // of a unit, behind what was typed last
  let begun = false; // a figure was typed
  let last = 0; // when the last key went down
  let ended = -1000; // when a run ended: some gauges end with two keys
  let due = 0;
  const held = new Set(); // keys whose release is kept back as well
  function handOn() {
    clearTimeout(due);
    const keys = back.filter((key) => NUMERIC.test(key));
    back = [];
    if (keys.length) tell("keys", keys);
  }
  function forget() {
    handOn();
    run = letters = "";
    begun = false;
  }
  function keep(event) {
    event.stopImmediatePropagation();
    event.preventDefault();
    held.add(event.code);
  }
  function end(event, fast) {
    const told = fast && run.length > 2 && /[0-9]/.test(run) ? { text: run } : letters ? { unit: letters } : null;
    if (told?.text) back = [];
    forget();
    if (!told) return;
    keep(event);
    ended = event.timeStamp;
    // the first key went the usual way, through the drawing engine: it has to be there before
    setTimeout(() => tell("gauge", told), 60);
  }
  function typed(event, key, fast) {
    const letter = LETTER.test(key) && begun;
    // by hand U and Z are keys of the pad
    if (!(NUMERIC.test(key) || letter) || (letter && !fast && /^[uz]$/i.test(key))) return forget();
    if (!fast) {
      handOn();
      run = "";
    }
    if (!letter) letters = ""; else letters += key;
    begun ||= /[0-9]/.test(key);
    run += key;
    if (fast || letter) {
      back.push(key);
      keep(event);
      clearTimeout(due);
      due = setTimeout(handOn, 4 * GAP);
    }
  }
  const writing = (event) => /^(INPUT|TEXTAREA|SELECT)$/.test((event.composedPath()[0] || event.target)?.tagName || "");
  window.addEventListener("keydown", (event) => {
    if (event.key === "Shift") return;
    if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || event.isComposing || writing(event)) return forget();
    const fast = run !== "" && event.timeStamp - last <= GAP;
    last = event.timeStamp;
    if (event.key !== "Enter" && event.key !== "Tab") typed(event, event.key, fast);
    else if (run === "" && event.timeStamp - ended < 3 * GAP) keep(event);
    else end(event, fast);
  }, true);
  window.addEventListener("keyup", (event) => {
    if (!held.delete(event.code)) return;
    event.stopImmediatePropagation();
    event.preventDefault();
  }, true);
  window.addEventListener("pointerdown", forget, true);

  // ---- a file to the system's share sheet, where there is one and the device is a phone or a tablet
  function fileFor(name, type, bytes) {
    if (!coarse() || !navigator.canShare || !navigator.share) return null;
    // some browsers share only kinds of file they know: the same as plain text
    for (const [called, as] of [[name, type], [name + ".txt", "text/plain"]]) {
      const file = new File([bytes], called, { type: as });
      if ((as === type || /json|csv/.test(type)) && navigator.canShare({ files: [file] })) return file;
    }
    return null;
  }
  async function share(file) {
    try {
      await navigator.share({ files: [file] });
      return "shared";
    } catch (error) {
      return error.name === "AbortError" ? "dismissed" : "refused";
    }
  }
  // Asked again with keys of the page itself: a share sheet opens only right after a press.
  function choose(file, words) {
    return new Promise((resolve) => {
      const asked = document.createElement("dialog");
      Object.assign(asked, { id: "handing", className: "asked" });
      asked.setAttribute("aria-labelledby", "handing-words");
      const said = document.createElement("p");
      said.id = "handing-words";
      said.textContent = words.ready;
      asked.append(said);
      const finish = (answer) => { asked.remove(); resolve(answer); };
      for (const [name, act] of [
        ["share", async () => { const done = await share(file); if (done === "shared") finish(done); }],
        ["save", () => finish("save")],
        ["close", () => finish("closed")],
      ]) {
        const key = document.createElement("button");
        key.type = "button";
        key.textContent = words[name];
        key.addEventListener("click", act);
        asked.append(key);
      }
      asked.addEventListener("cancel", (event) => { event.preventDefault(); finish("closed"); });
      document.body.append(asked);
      asked.showModal();
    });
  }
  answers.hand = async (name, type, bytes, words) => {
    const file = fileFor(name, type, bytes);
    if (!file) return "save";
    const done = await share(file);
    return done === "shared" ? done : choose(file, words);
  };

  // ---- the way back: Flutter counts its own entries of the history, and hears of a change by popstate
  answers.back = async (entries) => {
    const here = history.state?.serialCount;
    if (Number.isInteger(here) && here < entries) return false; // they are not all ours
    history.go(-entries);
    return true;
  };
  answers.instead = async (route) => {
    history.replaceState(history.state, "", "#" + route);
    window.dispatchEvent(new PopStateEvent("popstate", { state: history.state }));
    return true;
  };

  // ---- the camera, straight into the log
  answers.shoot = () => new Promise((resolve) => {
    const input = document.createElement("input");
    input.type = "file";
    input.accept = "image/*";
    input.setAttribute("capture", "environment");
    input.hidden = true;
    const finish = (got) => { input.remove(); resolve(got); };
    input.addEventListener("cancel", () => finish(null));
    input.addEventListener("change", async () => {
      const file = input.files[0];
      finish(file ? new Uint8Array(await file.arrayBuffer()) : null);
    });
    document.body.append(input);
    input.click();
  });

  // ---- a file that the system opens with the installed app
  let opened = null;
  window.launchQueue?.setConsumer(async ({ files }) => {
    if (!files?.length) return;
    opened = new Uint8Array(await (await files[0].getFile()).arrayBuffer());
    tell("file", true);
  });
  answers.opened = async () => {
    const bytes = opened;
    opened = null; // taken in once
    return bytes;
  };

  // ---- how safe what is stored is, as the browser says it
  answers.keeping = async () => {
    const { installed, hand } = await answers.installable();
    const { used, quota } = await answers.room().catch(() => ({}));
    const lasting = await navigator.storage?.persisted?.().catch(() => null) ?? null;
    return { lasting, installed, hand, used: used ?? null, quota: quota ?? null, webkit: /^Apple/.test(navigator.vendor || "") };
  };

  // ---- the picture of the last screen, for the next start (shown by boot.js)
  answers.glimpse = async (picture) => {
    try {
      if (picture) localStorage.setItem(window.boreside.glimpse, JSON.stringify(picture)); else localStorage.removeItem(window.boreside.glimpse);
      return true;
    } catch (error) {
      return false; // no room or no storage: the next start shows its progress only
    }
  };
})();
