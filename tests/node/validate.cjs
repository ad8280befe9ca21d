// Judges an OpenRPC document by the meta-schema, and its examples by its own schemas: node validate.cjs DOCUMENT.json
//
// Faults are put in on purpose and must be found: a validator that takes everything proves nothing.
const fs = require("node:fs");
const { parseOpenRPCDocument, validateOpenRPCDocument } = require("@open-rpc/schema-utils-js");
const Ajv = require("ajv").default;
const addFormats = require("ajv-formats").default;

const complaints = [];
const complain = (text) => complaints.push(String(text).slice(0, 800));

async function main(file) {
  const document = JSON.parse(fs.readFileSync(file, "utf8"));

  const judged = validateOpenRPCDocument(structuredClone(document));
  if (judged !== true) complain(`meta-schema: ${judged.message}`);

  for (const [what, spoil] of Object.entries(FAULTS)) {
    const spoiled = structuredClone(document);
    spoil(spoiled);
    if (validateOpenRPCDocument(spoiled) === true) complain(`a document with ${what} was taken`);
    else console.log(`a document with ${what}: refused as it should be`);
  }

  const resolved = await parseOpenRPCDocument(structuredClone(document));
  const ajv = new Ajv({ strict: false, allErrors: true });
  addFormats(ajv);
  // The generator of the schemas marks whole numbers by the width that holds them.
  for (const format of ["uint", "uint8", "uint16", "uint32", "uint64"]) {
    ajv.addFormat(format, { type: "number", validate: (n) => Number.isInteger(n) && n >= 0 });
  }
  const compiled = new Map();
  const fits = (schema, value) => {
    if (!compiled.has(schema)) compiled.set(schema, ajv.compile(schema));
    const check = compiled.get(schema);
    return check(value) ? null : ajv.errorsText(check.errors);
  };

  let checked = 0;
  let spoiledFound = 0;
  for (const method of resolved.methods) {
    if (!method.examples?.length) complain(`${method.name} has no example`);
    for (const example of method.examples ?? []) {
      for (const given of example.params) {
        const param = method.params.find((p) => p.name === given.name);
        if (!param) complain(`${method.name}: the example gives ${given.name}, which is no param`);
        else {
          const fault = fits(param.schema, given.value);
          if (fault) complain(`${method.name}, param ${given.name}: ${fault}`);
        }
        checked += 1;
      }
      const fault = fits(method.result.schema, example.result.value);
      if (fault) complain(`${method.name}, result: ${fault}`);
      checked += 1;
      // The same result with a required member taken out.
      const required = (method.result.schema.required ?? method.result.schema.allOf?.[0]?.required)?.[0];
      if (required) {
        const { [required]: _, ...short } = example.result.value;
        if (fits(method.result.schema, short)) spoiledFound += 1;
        else complain(`${method.name}: a result without ${required} fits its schema`);
      }
    }
  }
  if (checked < resolved.methods.length) complain(`only ${checked} values for ${resolved.methods.length} methods`);
  if (spoiledFound === 0) complain("no spoiled result was found: nothing was proved");
  console.log(`${resolved.methods.length} methods, ${checked} values fit their schemas, ${spoiledFound} spoiled ones do not`);
}

const FAULTS = {
  "a result without schema": (d) => delete d.methods[0].result.schema,
  "a member that is not known": (d) => (d.methods[0].paramz = 1),
  "a method without name": (d) => delete d.methods[0].name,
  "a version that is no text": (d) => (d.info.version = 1),
};

main(process.argv[2])
  .catch((e) => complain(e.stack ?? e))
  .finally(() => {
    complaints.forEach((c) => console.error(c));
    process.exitCode = complaints.length ? 1 : 0;
  });
