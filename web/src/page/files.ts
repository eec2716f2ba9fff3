// Files that are dropped: a folder is walked, and what is no mesh is left out.
const mesh = /\.(stl|ply|obj|3mf)$/i;

/** meshFiles keeps the mesh files of a list. */
export function meshFiles(files: Iterable<File>): File[] {
  return [...files].filter((f) => mesh.test(f.name));
}

/** dropped gathers the mesh files of a drop, those within folders too. */
export async function dropped(d: DataTransfer): Promise<File[]> {
  const entries = [...d.items].map((i) => i.webkitGetAsEntry?.()).filter((e): e is FileSystemEntry => !!e);
  if (entries.length === 0) return meshFiles(d.files);
  return meshFiles((await Promise.all(entries.map(walk))).flat());
}

async function walk(e: FileSystemEntry): Promise<File[]> {
  if (e.isFile) return [await new Promise<File>((ok, no) => (e as FileSystemFileEntry).file(ok, no))];
  const reader = (e as FileSystemDirectoryEntry).createReader();
  const out: FileSystemEntry[] = [];
  for (;;) {
    const some = await new Promise<FileSystemEntry[]>((ok, no) => reader.readEntries(ok, no));
    if (some.length === 0) break;
    out.push(...some);
  }
  return (await Promise.all(out.map(walk))).flat();
}
