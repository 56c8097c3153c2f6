package strict

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// convert makes nodes of the parser's tree. A doubled key is a mistake; path is the node's.
func convert(n ast.Node, path string) (*Node, *Error) {
	tk := n.GetToken()
	out := &Node{Line: 1, Column: 1}
	if tk != nil && tk.Position != nil {
		out.Line, out.Column = tk.Position.Line, tk.Position.Column
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return convertMapping(out, n.IsFlowStyle, n.Values, path)
	case *ast.MappingValueNode:
		return convertMapping(out, false, []*ast.MappingValueNode{n}, path)
	case *ast.SequenceNode:
		out.Kind = Sequence
		for i, v := range n.Values {
			item, err := convert(v, fmt.Sprintf("%s[%d]", path, i))
			if err != nil {
				return nil, err
			}
			out.Items = append(out.Items, item)
		}
		return out, nil
	case *ast.LiteralNode:
		out.Quoted = true
		if n.Value != nil {
			out.Text = n.Value.Value
		}
		return out, nil
	case *ast.NullNode:
		if tk.Type != token.ImplicitNullType {
			out.Text = tk.Value
		}
		return out, nil
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		out.Text = tk.Value
		out.Quoted = tk.Type == token.SingleQuoteType || tk.Type == token.DoubleQuoteType
		return out, nil
	}
	return nil, at(out.Line, out.Column, path, "a value", fmt.Sprintf("YAML's %s", n.Type().YAMLName()))
}

// convertMapping fills a mapping. Block mappings stand where their first key does.
func convertMapping(out *Node, flow bool, values []*ast.MappingValueNode, path string) (*Node, *Error) {
	out.Kind = Mapping
	seen := map[string]bool{}
	for i, v := range values {
		key, err := convert(v.Key, path)
		if err != nil {
			return nil, err
		}
		if key.Kind != Scalar {
			return nil, at(key.Line, key.Column, path, "a key", key.Found())
		}
		if i == 0 && !flow {
			out.Line, out.Column = key.Line, key.Column
		}
		inner := Join(path, key.Text)
		if seen[key.Text] {
			return nil, at(key.Line, key.Column, inner, "each key once", "it a second time")
		}
		seen[key.Text] = true
		item := &Node{Line: key.Line, Column: key.Column}
		if v.Value != nil {
			if item, err = convert(v.Value, inner); err != nil {
				return nil, err
			}
		}
		out.Keys, out.Items = append(out.Keys, key), append(out.Items, item)
	}
	return out, nil
}

// Join puts a key behind a path.
func Join(path, key string) string {
	if r := []rune(key); len(r) > 40 {
		key = string(r[:40]) + "..."
	}
	if path == "" {
		return key
	}
	return path + "." + key
}
