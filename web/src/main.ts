import { mount } from 'svelte'
import './app.css'
import App from './App.svelte'
import { shading } from './lib/ground.svelte'

shading.apply()
mount(App, { target: document.getElementById('app')! })
