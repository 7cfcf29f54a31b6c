"use strict";
const PASSED = "passed", FAILED = "failed", UNSURE = "cannot tell";
const text = new TextEncoder(), plain = new TextDecoder("utf-8", {fatal: true});
const hex = bytes => Array.from(bytes, one => one.toString(16).padStart(2, "0")).join("");
const unhex = said => Uint8Array.from(said.match(/../g) || [], pair => parseInt(pair, 16));
const isDigest = said => typeof said === "string" && /^[0-9a-f]{64}$/.test(said);
const joined = (...parts) => {
  const all = new Uint8Array(parts.reduce((sum, one) => sum + one.length, 0));
  let at = 0;
  for (const one of parts) { all.set(one, at); at += one.length; }
  return all;
};
const sha256 = async bytes => new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
const digest = async bytes => hex(await sha256(bytes));
const bytesOf = async file => new Uint8Array(await file.arrayBuffer());

class Finding {
  constructor(name) { this.name = name; this.verdict = PASSED; this.told = []; }
  say(what) { this.told.push(what); return this; }
  fail(what) { this.verdict = FAILED; return this.say(what); }
  doubt(what) { if (this.verdict === PASSED) this.verdict = UNSURE; return this.say(what); }
}

// --- canonical JSON (RFC 8785): names by UTF-16 code unit, numbers as ECMAScript writes them ---
function canonical(value) {
  if (Array.isArray(value)) return "[" + value.map(canonical).join(",") + "]";
  if (value !== null && typeof value === "object") {
    const names = Object.keys(value).sort();
    return "{" + names.map(name => JSON.stringify(name) + ":" + canonical(value[name])).join(",") + "}";
  }
  return JSON.stringify(value);
}

// --- entries: fields, leaves, root (RFC 9162, 2.1.1) ---
const LISTS = ["frames", "before", "after"];
const leafHash = (salt, data) => sha256(joined(Uint8Array.of(0), text.encode("heelstamp/entry/2\0"), salt, data));
const nodeHash = (left, right) => sha256(joined(Uint8Array.of(1), left, right));
const step = name => name.replaceAll("~", "~0").replaceAll("/", "~1");
const isTable = value => value !== null && typeof value === "object" && !Array.isArray(value);

function pairs(entry) {
  const found = [];
  const split = (path, body, inner) => {
    if (!Object.keys(body).length) found.push([path, {}]);
    for (const [name, value] of Object.entries(body)) {
      const below = path + "/" + step(name);
      if (name === "replacement" && !inner && isTable(value)) { split(below, value, true); continue; }
      found.push([below, value]);
      if (LISTS.includes(name) && Array.isArray(value) && value.every(one => typeof one === "string"))
        for (const one of new Set(value)) found.push([below + "/-", one]);
    }
  };
  for (const [name, value] of Object.entries(entry)) {
    if (name === "digest" || name === "seed") continue;
    if (name === "body" && isTable(value)) split("/body", value, false);
    else found.push(["/" + step(name), value]);
  }
  return found;
}

const before = (a, b) => {
  for (let i = 0; i < a.length && i < b.length; i++) if (a[i] !== b[i]) return a[i] - b[i];
  return a.length - b.length;
};

async function rootOf(entry) {
  const data = pairs(entry).map(pair => text.encode(canonical(pair))).sort(before);
  let size = 32;
  while (size < data.length) size *= 2;
  while (data.length < size) data.push(new Uint8Array());
  const key = await crypto.subtle.importKey("raw", unhex(entry.seed), {name: "HMAC", hash: "SHA-256"}, false, ["sign"]);
  const drawn = await Promise.all(data.map(async (one, place) => {
    const number = Uint8Array.of(place >>> 24, place >>> 16, place >>> 8, place);
    const made = new Uint8Array(await crypto.subtle.sign("HMAC", key, joined(text.encode("heelstamp/leaf/2\0"), number)));
    return {place: made.slice(16), hash: await leafHash(made.slice(0, 16), one)};
  }));
  let level = drawn.sort((a, b) => before(a.place, b.place)).map(one => one.hash);
  while (level.length > 1)
    level = await Promise.all(Array.from({length: level.length / 2}, (_, i) => nodeHash(level[2 * i], level[2 * i + 1])));
  return hex(level[0]);
}

async function digestOf(entry) {
  if ("form" in entry) return entry.form === 2 && isDigest(entry.seed) ? rootOf(entry) : "";
  const {digest: _, ...rest} = entry;
  return digest(text.encode(canonical(rest)));
}

async function checkJournal(finding, data) {
  let entries, lines = null;
  try {
    const said = plain.decode(data);
    if (said.trimStart().startsWith("[")) entries = JSON.parse(said);
    else {
      lines = said.split("\n");
      if (lines.pop() !== "") return finding.fail("the last entry is not ended by a line feed");
      entries = lines.map(line => JSON.parse(line));
    }
  } catch { return finding.fail("it cannot be read as a journal"); }
  if (!entries.length || !entries.every(isTable)) return finding.doubt("there is no entry to check");
  let previous = null, salted = false;
  for (const [i, entry] of entries.entries()) {
    const where = `entry ${i + 1}`;
    if (lines && canonical(entry) !== lines[i]) finding.fail(`${where}: is not written in its canonical form`);
    if (entry.seq !== i + 1) finding.fail(`${where}: is numbered ${entry.seq}`);
    if (salted && !("form" in entry)) finding.fail(`${where}: is of an older form than the one before`);
    salted = salted || "form" in entry;
    if (entry.digest !== await digestOf(entry)) finding.fail(`${where}: its content does not have the digest it carries`);
    if (entry.previous !== previous) finding.fail(`${where}: does not hold the digest of the entry before`);
    previous = entry.digest;
    if (finding.told.length > 20) break;
  }
  if (finding.verdict === PASSED)
    finding.say(`${entries.length} entries, each as it was made and in its place; the last has the digest ${previous}`)
      .say("whether entries are missing at the end cannot be told from the journal alone");
  return finding;
}

async function checkCopy(finding, data, others) {
  let copy;
  try { copy = JSON.parse(plain.decode(data)); } catch { return finding.fail("it cannot be read"); }
  const shown = copy.shown, size = copy.size;
  if (canonical(copy) !== plain.decode(data) || !Array.isArray(shown) || !Array.isArray(copy.hashes))
    return finding.fail("it is not written in its canonical form");
  let level = new Map(), rest = copy.hashes.map(unhex), width = size;
  for (const [place, salt, path, value] of shown)
    level.set(place, await leafHash(unhex(salt), text.encode(canonical([path, value]))));
  while (width > 1) {
    const above = new Map();
    for (const place of [...level.keys()].sort((a, b) => a - b)) {
      if (above.has(place >> 1)) continue;
      const sibling = level.get(place ^ 1) || rest.shift();
      if (!sibling) return finding.fail("a hash is missing in it");
      above.set(place >> 1, place % 2 ? await nodeHash(sibling, level.get(place)) : await nodeHash(level.get(place), sibling));
    }
    level = above; width /= 2;
  }
  if (rest.length || !level.get(0) || hex(level.get(0)) !== copy.digest)
    return finding.fail("what it shows does not belong to the digest it carries");
  const named = (shown.find(row => row[2] === "/body/files") || [])[3] || {};
  for (const [name, wanted] of Object.entries(named)) {
    const there = others.get(name);
    if (!there) finding.doubt(`${name} is named by it and was not chosen`);
    else if (await digest(await bytesOf(there)) !== wanted) finding.fail(`${name} is not the file that was issued`);
    else finding.say(`${name} is the file that was issued`);
  }
  return finding.say(`compare with the digest of the issue that the paper prints: ${copy.digest}`);
}

// --- signatures: CMS (RFC 5652) with ECDSA on P-256 ---
function der(bytes, at) {
  let size = bytes[at + 1], start = at + 2;
  if (size & 0x80) {
    const count = size & 0x7f;
    size = 0;
    for (let i = 0; i < count; i++) size = size * 256 + bytes[start + i];
    start += count;
  }
  if (!(start + size <= bytes.length)) throw new Error("cut short");
  return {tag: bytes[at], at, start, end: start + size, whole: bytes.slice(at, start + size), body: bytes.slice(start, start + size)};
}
function within(one) {
  const found = [];
  for (let at = 0; at < one.body.length;) { const next = der(one.body, at); found.push(next); at = next.end; }
  return found;
}
const MESSAGE_DIGEST = "06092a864886f70d010904";

async function readSignature(content, container) {
  const signed = within(within(within(der(container, 0))[1])[0]);
  const certificates = signed.find(one => one.tag === 0xa0), signers = signed.at(-1);
  const signer = within(within(signers)[0]);
  const attributes = signer.find(one => one.tag === 0xa0);
  const value = within(der(signer.find(one => one.tag === 0x04).body, 0)).map(one => one.body);
  const told = within(attributes).map(within).find(one => hex(one[0].whole) === MESSAGE_DIGEST);
  if (hex(within(told[1])[0].body) !== await digest(content)) return {fault: "its bytes are not those that were signed"};
  const spki = within(within(within(certificates)[0])[0])[6].whole;
  const key = await crypto.subtle.importKey("spki", spki, {name: "ECDSA", namedCurve: "P-256"}, false, ["verify"]);
  const raw = joined(...value.map(one => {
    const bare = one.length > 32 ? one.slice(one.length - 32) : one;
    return joined(new Uint8Array(32 - bare.length), bare);
  }));
  const over = attributes.whole.slice();
  over[0] = 0x31;
  const holds = await crypto.subtle.verify({name: "ECDSA", hash: "SHA-256"}, key, raw, over);
  return holds ? {key: await digest(spki)} : {fault: "the key did not sign this"};
}

function judgeKey(finding, found, known) {
  if (found.fault) return finding.fail(found.fault);
  finding.say(`signed, and unchanged since, with the key ${found.key}`);
  if (!known) return finding.doubt("whose key that is cannot be told: compare it with the one that the shop gives by another way");
  return known === found.key ? finding.say("that is the key you gave") : finding.fail("that is another key than the one you gave");
}

async function checkPaper(finding, data, known) {
  const said = new TextDecoder("latin1").decode(data);
  const ranges = [...said.matchAll(/\/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]/g)].map(one => one.slice(1).map(Number));
  if (!ranges.length) return finding.doubt("it carries no signature: a preview, a paper from before the shop had a key, or one whose signature was taken away");
  const [from, size, after, rest] = ranges[0];
  if (ranges.length !== 1 || from !== 0 || after + rest !== data.length || size >= after)
    return finding.fail("the signature does not cover the whole file: bytes were added or taken away");
  const gap = said.slice(size, after);
  if (!/^<([0-9a-f]{2})*>$/.test(gap)) return finding.fail("the place of the signature holds something else");
  const place = unhex(gap.slice(1, -1));
  try {
    const container = der(place, 0);
    if (place.slice(container.end).some(one => one)) return finding.fail("something stands behind the signature");
    const covered = joined(data.slice(0, size), data.slice(after));
    return judgeKey(finding, await readSignature(covered, container.whole), known);
  } catch { return finding.fail("the signature cannot be read"); }
}

// --- pages: the signature stands in Base64 in a comment that is the last line ---
async function checkPage(finding, data, known) {
  const said = new TextDecoder("latin1").decode(data);
  const last = said.slice(-20000).match(/<!-- heelstamp signature ([A-Za-z0-9+\/]+={0,2}) -->\n$/);
  if (!last) {
    return said.includes("<!-- heelstamp signature ") ? finding.fail("something stands behind the signature, or within it")
      : finding.doubt("it carries no signature: a preview, or one whose signature was taken away");
  }
  try {
    const container = Uint8Array.from(atob(last[1]), one => one.charCodeAt(0));
    if (btoa(String.fromCharCode(...container)) !== last[1] || der(container, 0).end !== container.length)
      return finding.fail("something stands behind the signature, or within it");
    return judgeKey(finding, await readSignature(data.slice(0, data.length - last[0].length), container), known);
  } catch { return finding.fail("the signature cannot be read"); }
}
const PAGE = hex(text.encode("<!doctype html>"));

// --- packs: BagIt 1.0 (RFC 8493) ---
function listed(data) {
  const found = new Map();
  for (const line of plain.decode(data).split("\n").filter(Boolean)) {
    const path = line.slice(66).replace(/%0D/gi, "\r").replace(/%0A/gi, "\n").replace(/%25/g, "%");
    if (!isDigest(line.slice(0, 64)) || !path || found.has(path)) throw new Error("a list of digests cannot be read");
    found.set(path, line.slice(0, 64));
  }
  return found;
}

async function checkBag(finding, files, known) {
  const results = [finding];
  try {
    const tagged = await bytesOf(files.get("tagmanifest-sha256.txt"));
    const tags = listed(tagged), payload = listed(await bytesOf(files.get("manifest-sha256.txt")));
    if (!tags.has("manifest-sha256.txt")) finding.fail("the list of files is in no list itself");
    for (const [path, wanted] of [...tags, ...payload]) {
      if (!files.has(path)) finding.fail(`${path} is missing`);
      else if (await digest(await bytesOf(files.get(path))) !== wanted) finding.fail(`${path} is not as it was written`);
    }
    const own = new Set(["tagmanifest-sha256.txt", "tagmanifest-sha256.txt.p7s"]);
    for (const path of files.keys())
      if (!own.has(path) && !(path.startsWith("data/") ? payload : tags).has(path)) finding.fail(`${path} is in no list: it was added`);
    if (finding.verdict === PASSED) finding.say(`${payload.size} files, each as it was listed, none added`);
    const signature = files.get("tagmanifest-sha256.txt.p7s");
    if (!signature) finding.doubt("the list is not signed");
    else judgeKey(finding, await readSignature(tagged, await bytesOf(signature)), known);
  } catch (error) { finding.fail(`it cannot be read as a pack (${error.message})`); }
  for (const [path, file] of files) {
    const inside = path.startsWith("data/") ? path.slice(5) : "";
    const near = path.slice(0, path.lastIndexOf("/") + 1);
    if (/journal\.jsonl$/.test(inside)) results.push(await checkJournal(new Finding(inside), await bytesOf(file)));
    else if (/\.pdf$/i.test(inside) && /(^|\/)papers\//.test(inside)) results.push(await checkPaper(new Finding(inside), await bytesOf(file), known));
    else if (/\.html$/i.test(inside) && /(^|\/)papers\//.test(inside)) results.push(await checkPage(new Finding(inside), await bytesOf(file), known));
    else if (/(^|\/)copy\.json$/.test(inside)) {
      const beside = new Map([...files].filter(([name]) => name.startsWith(near)).map(([name, one]) => [name.slice(near.length), one]));
      results.push(await checkCopy(new Finding(inside), await bytesOf(file), beside));
    }
  }
  return results;
}

async function unzipped(file) {
  const tail = await bytesOf(file.slice(Math.max(0, file.size - 66000)));
  const view = new DataView(tail.buffer);
  let end = tail.length - 22;
  while (end >= 0 && view.getUint32(end, true) !== 0x06054b50) end--;
  if (end < 0) throw new Error("not a ZIP file");
  const count = view.getUint16(end + 10, true), size = view.getUint32(end + 12, true), from = view.getUint32(end + 16, true);
  if (count === 0xffff || from === 0xffffffff) throw new Error("too large for this page: unpack it and choose the folder");
  const listing = await bytesOf(file.slice(from, from + size)), entries = new DataView(listing.buffer);
  const found = new Map();
  for (let at = 0, n = 0; n < count; n++) {
    const method = entries.getUint16(at + 10, true), length = entries.getUint32(at + 24, true);
    const [name, extra, note] = [28, 30, 32].map(place => entries.getUint16(at + place, true));
    const local = entries.getUint32(at + 42, true);
    const path = plain.decode(listing.slice(at + 46, at + 46 + name)).split("/").slice(1).join("/");
    at += 46 + name + extra + note;
    if (!path || path.endsWith("/")) continue;
    if (method !== 0) throw new Error("packed by another program: unpack it and choose the folder");
    const head = new DataView((await bytesOf(file.slice(local, local + 30))).buffer);
    const start = local + 30 + head.getUint16(26, true) + head.getUint16(28, true);
    found.set(path, file.slice(start, start + length));
  }
  return found;
}

async function checkAll(chosen, known) {
  const files = [...chosen];
  const rooted = new Map(files.filter(one => one.webkitRelativePath).map(one => [one.webkitRelativePath.split("/").slice(1).join("/"), one]));
  if (rooted.has("bagit.txt")) return checkBag(new Finding(files[0].webkitRelativePath.split("/")[0]), rooted, known);
  const byName = new Map(files.map(one => [one.name, one])), results = [];
  const named = new Set();
  for (const file of files) {
    const start = await bytesOf(file.slice(0, 5)), finding = new Finding(file.name);
    if (hex(start.slice(0, 4)) === "504b0304") {
      try { results.push(...await checkBag(finding, await unzipped(file), known)); }
      catch (error) { results.push(finding.doubt(error.message)); }
    } else if (hex(await bytesOf(file.slice(0, 15))) === PAGE) results.push(await checkPage(finding, await bytesOf(file), known));
    else if (hex(start) === "255044462d") results.push(await checkPaper(finding, await bytesOf(file), known));
    else if (file.name === "copy.json") { results.push(await checkCopy(finding, await bytesOf(file), byName)); named.add("copy.json"); }
    else if (/^journal\.jsonl?$|\.jsonl$/.test(file.name)) results.push(await checkJournal(finding, await bytesOf(file)));
    else if (!byName.has("copy.json")) results.push(finding.doubt("neither a paper, a showing page, a pack nor a journal by its name or first bytes"));
  }
  return results;
}

function show(results) {
  const place = document.getElementById("results");
  place.replaceChildren(...results.map(one => {
    const made = document.createElement("article"), title = document.createElement("h2"), verdict = document.createElement("strong"), list = document.createElement("ul");
    made.dataset.verdict = one.verdict;
    title.textContent = one.name;
    verdict.textContent = one.verdict;
    list.append(...one.told.slice(0, 30).map(said => { const row = document.createElement("li"); row.textContent = said; return row; }));
    made.append(title, verdict, list);
    return made;
  }));
}

async function check(files) {
  if (!files.length) return;
  const known = document.getElementById("key").value.toLowerCase().replace(/[\s:]/g, "");
  if (known && !isDigest(known)) return show([new Finding("The key").fail("it has not 64 digits of 0 to 9 and a to f")]);
  if (!globalThis.crypto || !crypto.subtle) return show([new Finding("This browser").doubt("it does not let a page that was opened from a file use its cryptography: try another one")]);
  document.getElementById("results").textContent = "Looking at it …";
  show(await checkAll(files, known));
}
const drop = document.getElementById("drop");
for (const id of ["files", "folder"]) document.getElementById(id).addEventListener("change", event => check(event.target.files));
for (const name of ["dragover", "dragleave", "drop"]) drop.addEventListener(name, event => {
  event.preventDefault();
  drop.classList.toggle("over", name === "dragover");
  if (name === "drop") check(event.dataTransfer.files);
});
