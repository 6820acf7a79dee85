// node piece.mjs STATIC: a stream of 0, 1, 2.. in blocks of 4; prints some of its pieces.

const [folder] = process.argv.slice(2);
const { pieceOf } = await import(`${folder}/sound-piece.js`);
const blocks = [0, 4, 8, 12].map((first) => Int16Array.from({ length: 4 }, (_, i) => first + i));
const spans = [[0, 16], [1, 3], [3, 9], [4, 8], [10, 99]];
console.log(JSON.stringify(spans.map(([from, until]) => [...pieceOf(blocks, 16, from, until)])));
