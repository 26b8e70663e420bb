/** Puts the parts together: the store, the sync and the frame. */
import { mount } from 'svelte';
import App from './App.svelte';

const target = document.getElementById('app');
if (target === null) throw new Error('index.html has lost its #app');
mount(App, { target });
