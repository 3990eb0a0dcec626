// Uploads a file with tus-js-client: node upload.mjs '{"endpoint": ..., "mode": ...}'
// Modes: whole, with-creation, override, resume (stops half-way and goes on), terminate.
import fs from "node:fs";
import { Upload } from "tus-js-client";

const asked = JSON.parse(process.argv[2]);
const size = fs.statSync(asked.file).size;
const options = {
  endpoint: asked.endpoint,
  headers: { Authorization: `Bearer ${asked.token}` },
  metadata: asked.metadata,
  uploadSize: size,
  chunkSize: asked.chunk ?? Infinity,
  retryDelays: [0, 200, 500, 1000],
  uploadDataDuringCreation: asked.mode === "with-creation",
  overridePatchMethod: asked.mode === "override",
};

function upload(more) {
  return new Promise((resolve, reject) => {
    const one = new Upload(fs.createReadStream(asked.file), {
      ...options,
      ...more,
      onError: reject,
      onSuccess: () => resolve(one),
      onProgress: (sent) => {
        if (more.stopAt && sent >= more.stopAt) one.abort().then(() => resolve(one));
      },
    });
    one.start();
  });
}

let done;
if (asked.mode === "resume") {
  const first = await upload({ stopAt: size / 2, chunkSize: Math.ceil(size / 8) });
  done = await upload({ uploadUrl: first.url });
} else if (asked.mode === "terminate") {
  done = await upload({ stopAt: size / 2, chunkSize: Math.ceil(size / 8) });
  await Upload.terminate(done.url, options);
} else {
  done = await upload({});
}
console.log(JSON.stringify({ url: done.url }));
