// The microphone as a WAV file: one channel, 24 bits, at the rate of the device, with everything that
// a telephone does for speech turned off. What is measured must be what was heard.

export async function microphone({ measured }) {
  const off = !measured;
  return navigator.mediaDevices.getUserMedia({
    audio: { channelCount: 1, echoCancellation: off, noiseSuppression: off, autoGainControl: off },
  });
}

export async function capture(stream, heard) {
  const context = new AudioContext();
  await context.audioWorklet.addModule("/static/capture-worklet.js");
  const source = context.createMediaStreamSource(stream);
  const taker = new AudioWorkletNode(context, "capture", { numberOfOutputs: 0 });
  const blocks = [];
  let count = 0;
  taker.port.onmessage = ({ data }) => {
    blocks.push(data);
    count += data.length;
    let peak = 0;
    for (const value of data) peak = Math.max(peak, Math.abs(value));
    heard(count / context.sampleRate, peak);
  };
  source.connect(taker);
  return async () => {
    source.disconnect();
    stream.getTracks().forEach((track) => track.stop());
    await context.close();
    return wav(blocks, count, context.sampleRate);
  };
}

// RIFF/WAVE, PCM, 24 bits (Multimedia Programming Interface and Data Specifications 1.0, 1991).
function wav(blocks, count, rate) {
  const bytes = 3 * count;
  const view = new DataView(new ArrayBuffer(44 + bytes + (bytes % 2)));
  const words = (at, text) => [...text].forEach((one, k) => view.setUint8(at + k, one.charCodeAt(0)));
  words(0, "RIFF");
  view.setUint32(4, 36 + bytes + (bytes % 2), true);
  words(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, rate, true);
  view.setUint32(28, 3 * rate, true);
  view.setUint16(32, 3, true);
  view.setUint16(34, 24, true);
  words(36, "data");
  view.setUint32(40, bytes, true);
  let at = 44;
  for (const block of blocks) {
    for (const value of block) {
      const whole = Math.max(-8388608, Math.min(8388607, Math.round(value * 8388608)));
      view.setUint8(at, whole & 255);
      view.setUint8(at + 1, (whole >> 8) & 255);
      view.setUint8(at + 2, (whole >> 16) & 255);
      at += 3;
    }
  }
  return new Blob([view], { type: "audio/wav" });
}
