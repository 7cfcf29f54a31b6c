// Hands what the microphone gives to the page as it comes, block by block, unchanged.
class Capture extends AudioWorkletProcessor {
  process([input]) {
    if (input.length) this.port.postMessage(input[0].slice());
    return true;
  }
}
registerProcessor("capture", Capture);
