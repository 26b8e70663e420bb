// Serves databases of the CouchDB protocol from leveldb files in the folder named; prints its port once it listens.
import express from 'express';
import expressPouchDB from 'express-pouchdb';
import PouchDB from 'pouchdb';

const [folder] = process.argv.slice(2);
if (folder === undefined) throw new Error('usage: node serve.js FOLDER');
const Database = PouchDB.defaults({ prefix: `${folder}/`, adapter: 'leveldb' });
const app = express();
// The least that another PouchDB needs, nothing written beside the data.
app.use('/', expressPouchDB(Database, { mode: 'minimumForPouchDB', inMemoryConfig: true, logPath: `${folder}/log` }));
const listening = app.listen(0, '127.0.0.1', () => console.log(listening.address().port));
// The phone's line may be idle while it is ours that is measured.
listening.keepAliveTimeout = 0;
