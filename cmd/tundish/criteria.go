package main

import (
	"tundish/analyse"
	"tundish/dashboards/findings"
)

type criteriaCmd struct {
	Kind string `placeholder:"KIND" help:"Of this kind alone."`
	JSON bool   `name:"json" help:"Write JSON for programs."`
}

func (c criteriaCmd) Run(s *streams) error {
	list := checks()
	if c.Kind != "" {
		one, err := checkOf(c.Kind)
		if err != nil {
			return err
		}
		list = []analyse.Check{*one}
	}
	if c.JSON {
		return findings.CriteriaJSON(s.out, list)
	}
	return findings.CriteriaText(s.out, list, textWidth(s.out))
}
