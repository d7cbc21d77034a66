// Questions to the practice server on this machine. Trouble arrives as an Error whose message is a sentence to show.

async function answer(response) {
  let body;
  try {
    body = await response.json();
  } catch {
    throw new Error("The practice page got no readable answer. Is it still running in the terminal?");
  }
  if (!response.ok) throw new Error(body.problem ?? "That did not work.");
  return body;
}

async function ask(address, options) {
  let response;
  try {
    response = await fetch(address, options);
  } catch {
    throw new Error("Practice mode does not answer. Start it again in the terminal, then reload this page.");
  }
  return answer(response);
}

// A file as the practice server reads it: its name, and its bytes in base 64.
export async function packed(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = "";
  for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return { name: file.name, data: btoa(text) };
}

export function get(path, query) {
  return ask(`${path}?${new URLSearchParams(query)}`);
}

export function post(path, body) {
  return ask(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });
}
