// Package web shows a campaign on pages and as an API: one file for each thing a person does.
//
// Pages are made on the server and work without scripts; scripts add the chart, keys, sliders and the notice that
// the campaign has changed. Every page and answer goes through the guard, which refuses what another site or a
// rebound name asks for.
package web
