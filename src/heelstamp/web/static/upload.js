// Sends a form with a photograph and tells how far it has gone up.
import { meantFor } from "./outbox.js";

export function sent(path, fields, bar) {
  return new Promise((done, failed) => {
    const request = new XMLHttpRequest(); // the only way to see how far an upload is
    request.open("POST", path);
    for (const [name, value] of Object.entries(meantFor())) request.setRequestHeader(name, value);
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) bar.value = event.loaded / event.total;
    });
    request.addEventListener("load", () => done({ status: request.status, text: request.responseText, address: request.responseURL }));
    request.addEventListener("error", failed);
    const body = new FormData();
    for (const [name, value] of Object.entries(fields)) body.set(name, value);
    request.send(body);
  });
}
