// Reads the QR code in a PNG and prints its text: node read_qr.cjs FILE.png
const fs = require("fs");
const jsqr = require("jsqr");
const { PNG } = require("pngjs");

const picture = PNG.sync.read(fs.readFileSync(process.argv[2]));
const found = jsqr(new Uint8ClampedArray(picture.data), picture.width, picture.height);
if (!found) {
  console.error("no code found");
  process.exit(1);
}
console.log(found.data);
